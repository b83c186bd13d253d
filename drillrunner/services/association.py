"""What your association chose of what the Rules of Handicapping leave to it: a file of the user's.

`association.toml` in the config folder; what stands not in it is as usual. A file that can't be
used changes nothing, and the first thing that is wrong with it is told.

    from_one = -2.0
    from_two = -2.0
    low_from = 20
    exceptional = "rounded"
    par_counts = false
    allowance = 1.0
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError

from drillrunner.catalogue import places
from drillrunner.catalogue.fields import Faulty, Problem, Strict, reasons
from drillrunner.catalogue.files import write_whole
from drillrunner.catalogue.reading import read_file
from drillrunner.practice.rounds.handicap import USUAL, Options

ADDED = (Decimal(-10), Decimal(10))
"""What can be added to the lowest of one or two scores. Our choice, wide."""
ALLOWANCES = (Decimal("0.1"), Decimal("1.5"))
LOW_FROM = (3, 20)


def _exact(value: Any) -> Any:
    """A number of a file, without binary dust."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("expected a number")
    return Decimal(str(value))


Added = Annotated[
    Decimal, BeforeValidator(_exact), Field(ge=ADDED[0], le=ADDED[1], decimal_places=1)
]
Allowance = Annotated[
    Decimal, BeforeValidator(_exact), Field(ge=ALLOWANCES[0], le=ALLOWANCES[1], decimal_places=2)
]


class _Chosen(Strict):
    from_one: Added | None = None
    from_two: Added | None = None
    low_from: int = Field(USUAL.low_from, ge=LOW_FROM[0], le=LOW_FROM[1])
    exceptional: Literal["unrounded", "rounded"] = USUAL.exceptional
    par_counts: bool = USUAL.par_counts
    allowance: Allowance = USUAL.allowance


def options_file(config: Path | None = None) -> Path:
    """Where the choices lie."""
    return (places.config_dir() if config is None else config) / "association.toml"


def options(config: Path | None = None) -> Options:
    """What is chosen, or what is usual."""
    return load(config)[0]


def load(config: Path | None = None) -> tuple[Options, Problem | None]:
    """What is chosen, and what is wrong with the file if it can't be used."""
    file = options_file(config)
    if not os.path.lexists(file):
        return USUAL, None
    problems: list[Problem] = []
    found = read_file(file, _built, problems)
    return (USUAL if found is None else found), (problems[0] if problems else None)


def _built(fields: Mapping[str, Any]) -> Options:
    try:
        chosen = _Chosen.model_validate(dict(fields))
    except ValidationError as error:
        raise Faulty([*reasons(error, _Chosen, ())]) from None
    early = {1: chosen.from_one, 2: chosen.from_two}
    return Options(
        {count: added for count, added in early.items() if added is not None},
        chosen.low_from,
        chosen.exceptional,
        chosen.par_counts,
        chosen.allowance,
    )


def keep_options(chosen: Options, config: Path | None = None) -> None:
    """Write the choices, whole or not at all. Raises OSError."""
    file = options_file(config)
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_whole(file, [f"{line}\n" for line in _lines(chosen)], over=True)


def _lines(chosen: Options) -> Iterator[str]:
    yield "# What your association chose of what the Rules of Handicapping leave to it."
    for count, name in ((1, "from_one"), (2, "from_two")):
        if count in chosen.early:
            yield f"{name} = {chosen.early[count]}"
    yield f"low_from = {chosen.low_from}"
    yield f'exceptional = "{chosen.exceptional}"'
    yield f"par_counts = {str(chosen.par_counts).lower()}"
    yield f"allowance = {chosen.allowance}"
