"""Session plans: TOML files in the folder `plans` of each plugin folder, checked like drills.

A plan is blocks in order, each with its kind, minutes and balls:

- `warm-up`: easy swings, no score.
- `technique`: a swing thought in the coach's words (`thought`), no score.
- `find`: a stock carry, blind, from `shots` carries with a `club` and a `swing`.
- `drill`: a drill by its id, with `set = ["FIELD=VALUE", ...]` as on the command line.
- `free`: whatever the player likes.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, Field, ValidationError

from drillrunner.catalogue.drill import BadDrill, Place
from drillrunner.catalogue.fields import (
    IDENTIFIER,
    Fault,
    Faulty,
    Problem,
    Strict,
    Title,
    line,
    prose,
    reasons,
    unknown_club,
)
from drillrunner.catalogue.loader import Catalogue, listed, take
from drillrunner.catalogue.tomltext import unreal

BlockKind = Literal["warm-up", "technique", "find", "drill", "free"]
KINDS: tuple[BlockKind, ...] = get_args(BlockKind)

FOLDER = "plans"
FEWEST_SHOTS, MOST_SHOTS = 5, 12
MOST_MINUTES, MOST_BALLS = 240, 500

FROM_PLAN = "from the plan"
"""Why a block of a plan in a file is there."""

TITLES: dict[BlockKind, str] = {
    "warm-up": "Warm-up",
    "technique": "Technique",
    "find": "Find a stock carry",
    "drill": "Drill",
    "free": "Free",
}


@dataclass(frozen=True)
class Block:
    """One stretch of a session. Empty text and `None` are fields that its kind does not have.

    minutes, balls: what it is given; on the green no balls, for there is no bucket. why: the
    reason that it is there, in one line. chance: to beat what there is to beat, as set. serves: the
    kind of shot on the course that it serves. worth: what its value is made of, in words. warm:
    of a search, that the player said to be warm when it was planned.
    """

    kind: BlockKind
    title: str
    minutes: int
    balls: int
    thought: str = ""
    note: str = ""
    drill: str | None = None
    set: tuple[str, ...] = ()
    club: str | None = None
    swing: str = "full"
    shots: int | None = None
    why: str = ""
    where: Place = "bay"
    chance: float | None = None
    serves: str | None = None
    worth: str = ""
    warm: bool = False


@dataclass(frozen=True)
class Plan:
    """Blocks in order. `source` is the file; empty for a plan that was composed."""

    id: str
    title: str
    about: str
    note: str
    blocks: tuple[Block, ...]
    source: str = ""

    @property
    def minutes(self) -> int:
        """Minutes of all the blocks."""
        return sum(block.minutes for block in self.blocks)

    @property
    def balls(self) -> int:
        """Balls of all the blocks."""
        return sum(block.balls for block in self.blocks)

    def data(self) -> dict[str, Any]:
        """The plan, ready for JSON."""
        return asdict(self)

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Plan:
        """The plan that `data` gave."""
        blocks = tuple(Block(**{**block, "set": tuple(block["set"])}) for block in data["blocks"])
        return cls(**{**data, "blocks": blocks})


@dataclass(frozen=True)
class Plans:
    """Everything found, in the order found, and why the other files can't be used.

    broken: the first problem of each plan that can't be used, by its id.
    """

    plans: tuple[Plan, ...] = ()
    problems: tuple[Problem, ...] = ()
    broken: Mapping[str, Problem] = field(default_factory=dict)

    def plan(self, id: str) -> Plan:
        """The plan of that id. Raises LookupError with the reason, or naming close matches."""
        found = {plan.id: plan for plan in self.plans}
        if id in found:
            return found[id]
        if id in self.broken:
            raise LookupError(f"the plan {id!r} can't be used: {self.broken[id]}")
        close = get_close_matches(id, found, n=3, cutoff=0.4) or list(found)
        raise LookupError(f"no plan {id!r}: expected one of {', '.join(close) or 'none'}")


class _BlockFields(Strict):
    kind: BlockKind
    title: Title | None = None
    minutes: int = Field(ge=1, le=120)
    balls: int | None = Field(default=None, ge=0, le=MOST_BALLS)
    where: Place | None = None
    thought: Annotated[str, Field(max_length=300), AfterValidator(prose)] = ""
    note: Annotated[str, Field(max_length=600), AfterValidator(prose)] = ""
    drill: str | None = None
    set: list[str] = Field(default_factory=list)
    club: str | None = None
    swing: Annotated[str, Field(max_length=40), AfterValidator(line)] | None = None
    shots: int | None = Field(default=None, ge=FEWEST_SHOTS, le=MOST_SHOTS)


class _PlanFields(Strict):
    id: str = Field(max_length=60, pattern=IDENTIFIER)
    title: Title
    about: Annotated[str, Field(max_length=600), AfterValidator(prose)] = ""
    note: Annotated[str, Field(max_length=600), AfterValidator(prose)] = ""
    blocks: list[_BlockFields] = Field(min_length=1, max_length=30)


ONLY: dict[str, tuple[BlockKind, ...]] = {
    "thought": ("technique",),
    "drill": ("drill",),
    "set": ("drill",),
    "club": ("find",),
    "swing": ("find",),
    "shots": ("find",),
}
"""Fields that only some kinds of block have."""

NEEDED: dict[BlockKind, tuple[str, ...]] = {"drill": ("drill",), "find": ("club",)}
"""Fields that a kind of block can't do without, besides those of every block."""


def load_plans(
    folders: Iterable[Path], catalogue: Catalogue, clubs: Collection[str] | None = None
) -> Plans:
    """The plans in the folder `plans` of each plugin folder; of two of one id the first stands.

    catalogue: the drills that plans may name. clubs: the ids that they may name; `None` is any.
    """
    plans: dict[str, Plan] = {}
    problems: list[Problem] = []
    broken: dict[str, Problem] = {}
    homes = [folder / FOLDER for folder in folders]
    files = [f for home in homes if os.path.lexists(home) for f in listed(home, problems)]
    for file in files:
        if file.suffix.lower() != ".toml":
            continue

        def described(document: dict[str, Any], file: Path = file) -> Plan:
            return build(document, catalogue, clubs, str(file))

        take(file, described, plans, problems, broken)
    return Plans(tuple(plans.values()), tuple(problems), broken)


def build(
    document: Mapping[str, Any],
    catalogue: Catalogue,
    clubs: Collection[str] | None = None,
    source: str = "",
) -> Plan:
    """The plan that a document describes. Raises Faulty with every fault, not the first."""
    faults: list[Fault] = [(path, "expected a finite number") for path in unreal(document)]
    try:
        fields: _PlanFields | None = _PlanFields.model_validate(document)
    except ValidationError as error:
        faults += reasons(error, _PlanFields, ())
        fields = None
    blocks = []
    for place, block in _readable(document):
        where = ("blocks", str(place))
        wrong = list(_wrong(block, catalogue, clubs))
        faults += [((*where, *path), reason) for path, reason in wrong]
        if not wrong:
            blocks.append(_block(block, catalogue))
    if fields is None:
        raise Faulty(faults)
    plan = Plan(fields.id, fields.title, fields.about, fields.note, tuple(blocks), source)
    if plan.minutes > MOST_MINUTES:
        faults.append((("blocks",), f"expected at most {MOST_MINUTES} minutes together"))
    if plan.balls > MOST_BALLS:
        faults.append((("blocks",), f"expected at most {MOST_BALLS} balls together"))
    if faults:
        raise Faulty(faults)
    return plan


def _readable(document: Mapping[str, Any]) -> Iterable[tuple[int, _BlockFields]]:
    """The blocks whose fields can be read, with their places, whatever is wrong elsewhere."""
    written = document.get("blocks")
    for place, block in enumerate(written if isinstance(written, list) else ()):
        with suppress(ValidationError):
            yield place, _BlockFields.model_validate(block)


def _wrong(
    block: _BlockFields, catalogue: Catalogue, clubs: Collection[str] | None
) -> Iterable[Fault]:
    for name in sorted(block.model_fields_set & ONLY.keys()):
        if block.kind not in ONLY[name]:
            yield (name,), f"expected only in a block of kind {', '.join(ONLY[name])}"
    for name in NEEDED.get(block.kind, ()):
        if not getattr(block, name):
            yield (name,), f"missing: expected a value in a block of kind {block.kind}"
    where = _where(block, catalogue)
    if where == "bay" and block.balls is None:
        yield ("balls",), 'missing: expected a value, or where = "green"'
    if where == "green" and block.balls:
        yield ("balls",), "expected none on the green: nothing comes out of the bucket there"
    if block.where is not None and block.where != where:
        yield ("where",), f"expected {where}: that is where its drill is played"
    if block.kind == "find":
        yield from unknown_club("club", block.club, clubs)
        fewest = block.shots or FEWEST_SHOTS
        if block.where == "green":
            yield ("where",), "expected bay: a carry is found there"
        elif (block.balls or 0) < fewest:
            yield ("balls",), f"expected at least one for each of {fewest} shots"
    if block.kind == "drill" and block.drill:
        if where == "bay" and block.balls == 0:
            yield ("balls",), "expected at least 1 ball for a drill"
        try:
            catalogue.drill(block.drill).with_set(block.set)
        except KeyError as error:
            yield ("drill",), str(error)
        except BadDrill as error:
            for problem in error.problems:
                said = f"{problem.field}: {problem.reason}" if problem.field else problem.reason
                yield ("set",), said


def _where(block: _BlockFields, catalogue: Catalogue) -> Place:
    """Where a block is: what it says, but a drill is where it is played."""
    if block.kind == "drill" and block.drill:
        with suppress(KeyError):
            return catalogue.drill(block.drill).where
    return block.where or "bay"


def _block(block: _BlockFields, catalogue: Catalogue) -> Block:
    title, shots = block.title or TITLES[block.kind], block.shots
    if block.kind == "drill" and block.drill:
        title = block.title or catalogue.drill(block.drill).title
    if block.kind == "find":
        shots = shots or min(block.balls or 0, MOST_SHOTS)
    return Block(
        kind=block.kind,
        title=title,
        minutes=block.minutes,
        balls=block.balls or 0,
        thought=block.thought,
        note=block.note,
        drill=block.drill,
        set=tuple(block.set),
        club=block.club,
        swing=block.swing or "full",
        shots=shots,
        why=FROM_PLAN,
        where=_where(block, catalogue),
    )
