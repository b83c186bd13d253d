"""What stands on a range: marks and measured gaps, from TOML files in the user's own folder.

    id = "by-the-river"
    title = "The range by the river"
    unit = "yd"

    [[marks]]
    name = "white post"
    distance = 200
    bearing = 354

    [[gaps]]
    name = "between the two poplars"
    distance = 210
    width = 38

Distances come from a plan, the staff or a rangefinder used from the bay: nobody walks out to
measure. Profiles lie in the folder `ranges` of the user's config folder, and the measures of the
player's own arm and hand (`arm finger fist grip`, in centimetres) in its file `hand.toml`.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from functools import partial
from itertools import combinations
from pathlib import Path
from typing import Any, TypeVar

import tomli_w
from pydantic import BaseModel, Field, ValidationError

from drillrunner.catalogue import places
from drillrunner.catalogue.fields import (
    IDENTIFIER,
    Fault,
    Faulty,
    Problem,
    Strict,
    Title,
    id_for,
    reasons,
)
from drillrunner.catalogue.files import write_whole
from drillrunner.catalogue.loader import listed, read_file, take
from drillrunner.catalogue.tomltext import unreal
from drillrunner.catalogue.width import BadMeasure, Estimate, Hand, Mark, between_marks
from drillrunner.rules.settings import Distance, PositiveDistance
from drillrunner.rules.units import Unit, convert, text, whole

RANGE_FOLDER = "ranges"
HAND = "hand.toml"

MEASURED_SHARE = 0.05
"""The error of a gap that was measured: 5 % of it. Common practice, no source."""

SAME_DISTANCE = 0.15
"""A gap serves a drill with a carry if it lies within 15 % of it, as the odds pool depth."""

_Model = TypeVar("_Model", bound=BaseModel)


@dataclass(frozen=True)
class Gap:
    """Two things with a corridor between them, how far off it is, and how wide."""

    name: str
    distance: float
    width: Estimate

    @property
    def error(self) -> Decimal:
        """What its width may be off either way, to a tenth."""
        far = max(self.width.high - self.width.value, self.width.value - self.width.low)
        return Decimal(str(round(far, 1)))

    @property
    def whole(self) -> Decimal:
        """The width that a run is set to: the nearest whole one, at least 1."""
        return max(whole(Decimal(str(self.width.value))), Decimal(1))


@dataclass(frozen=True)
class RangeProfile:
    """One range. Distances are in `unit`."""

    id: str
    title: str
    unit: Unit
    marks: tuple[Mark, ...]
    measured: tuple[Gap, ...]
    source: str = ""
    document: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)

    def gaps(self) -> tuple[Gap, ...]:
        """The measured gaps, then the one between every two marks."""
        found = list(self.measured)
        for one, other in combinations(self.marks, 2):
            try:
                width = between_marks(one, other)
            except BadMeasure:
                continue
            names = f"{one.name} to {other.name}"
            found.append(Gap(names, (one.distance + other.distance) / 2, width))
        return tuple(found)

    def nearest(
        self, width: Decimal, unit: Unit = "yd", distance: Decimal | None = None
    ) -> Gap | None:
        """The gap that comes closest to a wanted width, in share of it; `None` if there is none.

        distance: how far the drill is hit; a gap then serves only within 15 % of it. The answer
        is in `unit`. Of two equally close the one measured is taken.
        """
        wanted = float(width)
        found = [in_unit(gap, self.unit, unit) for gap in self.gaps()]
        serving = [
            (abs(gap.width.value - wanted), place, gap)
            for place, gap in enumerate(found)
            if distance is None
            or abs(gap.distance - float(distance)) <= SAME_DISTANCE * float(distance)
        ]
        return min(serving, key=lambda item: (round(item[0], 6), item[1]))[2] if serving else None


def in_unit(gap: Gap, old: Unit, new: Unit) -> Gap:
    """A gap in another unit."""

    def other(value: float) -> float:
        return float(convert(Decimal(str(value)), old, new))

    if old == new:
        return gap
    width = Estimate(other(gap.width.value), other(gap.width.low), other(gap.width.high))
    return Gap(gap.name, other(gap.distance), width)


def gap_words(gap: Gap, wanted: Decimal, unit: Unit) -> str:
    """Which gap to aim through, in a line: name, distance, width, and what was wanted."""
    return (
        f"{gap.name}, at {gap.distance:.0f} {unit}: {text(gap.whole)} {unit} "
        f"({gap.width.low:.0f} to {gap.width.high:.0f}), nearest to {text(wanted)}"
    )


class _MarkFields(Strict):
    name: Title
    distance: PositiveDistance
    bearing: float = Field(ge=-360, le=360)
    bearing_error: float | None = Field(None, ge=0, le=45)


class _GapFields(Strict):
    name: Title
    distance: PositiveDistance
    width: PositiveDistance
    error: Distance | None = None


class _ProfileFields(Strict):
    id: str = Field(max_length=60, pattern=IDENTIFIER)
    title: Title
    unit: Unit = "yd"
    marks: list[_MarkFields] = Field(default_factory=list, max_length=50)
    gaps: list[_GapFields] = Field(default_factory=list, max_length=50)


class _HandFields(Strict):
    arm: float = Field(Hand.arm, ge=30, le=120)
    finger: float = Field(Hand.finger, ge=0.5, le=5)
    fist: float = Field(Hand.fist, ge=4, le=20)
    grip: float = Field(Hand.grip, ge=1, le=6)


def load_ranges(folder: Path | None = None) -> tuple[tuple[RangeProfile, ...], tuple[Problem, ...]]:
    """The profiles in a folder (the user's, unless said), and why other files can't be used."""
    home = places.config_dir() / RANGE_FOLDER if folder is None else folder
    problems: list[Problem] = []
    files: Iterable[Path] = listed(home, problems) if os.path.lexists(home) else ()
    found: dict[str, RangeProfile] = {}
    for file in files:
        if file.suffix.lower() == ".toml":
            take(file, partial(_profile, file), found, problems)
    return tuple(found.values()), tuple(problems)


def range_faults(document: Mapping[str, Any]) -> tuple[str, ...]:
    """What is wrong with a range as it is described so far: a line each."""
    try:
        _profile(Path(), document)
    except Faulty as error:
        return tuple(
            f"{'.'.join(path)}: {reason}" if path else reason for path, reason in error.faults
        )
    return ()


def free_range_id(title: str, folder: Path | None = None) -> str:
    """An id for a title that no file in the folder has."""
    home = places.config_dir() / RANGE_FOLDER if folder is None else folder
    wanted = id_for(title)
    names = (wanted, *(f"{wanted[:56]}-{n}" for n in range(2, 1000)))
    return next(name for name in names if not os.path.lexists(home / f"{name}.toml"))


def save_range(document: Mapping[str, Any], folder: Path | None = None) -> RangeProfile:
    """Write a range into the user's folder, over its own file if it has one.

    Raises Faulty (a ValueError) where a file would be refused, and OSError; then nothing changes.
    """
    home = places.config_dir() / RANGE_FOLDER if folder is None else folder
    profile = _profile(home / f"{document.get('id')}.toml", document)
    own = next((one for one in load_ranges(home)[0] if one.id == profile.id), None)
    file = Path(own.source if own else profile.source)
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_whole(file, [tomli_w.dumps(dict(document))], over=True)
    return profile


def load_hand(file: Path | None = None) -> tuple[Hand, tuple[Problem, ...]]:
    """The player's measured arm and hand, or common practice; and why the file can't be used."""
    where = places.config_dir() / HAND if file is None else file
    problems: list[Problem] = []
    hand = None
    if os.path.lexists(where):
        hand = read_file(where, lambda d: Hand(**vars(_checked(_HandFields, d))), problems)
    return hand or Hand(), tuple(problems)


def save_hand(hand: Hand, file: Path | None = None) -> str | None:
    """Keep a measured arm and hand; one line if they can't be kept, and then nothing is."""
    where = places.config_dir() / HAND if file is None else file
    fields = asdict(hand)
    try:
        _checked(_HandFields, fields)
        where.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(where, (f"{name} = {size!r}\n" for name, size in fields.items()), over=True)
    except Faulty as error:
        return "; ".join(f"{'.'.join(path)}: {reason}" for path, reason in error.faults)
    except OSError as error:
        return f"{where}: not written ({error.strerror})"
    return None


def _profile(file: Path, document: Mapping[str, Any]) -> RangeProfile:
    fields = _checked(_ProfileFields, document)
    profile = RangeProfile(
        id=fields.id,
        title=fields.title,
        unit=fields.unit,
        marks=tuple(
            Mark(float(m.distance), m.bearing, m.name, m.bearing_error) for m in fields.marks
        ),
        measured=tuple(
            Gap(
                gap.name,
                float(gap.distance),
                _measured(
                    float(gap.width),
                    float(gap.width) * MEASURED_SHARE if gap.error is None else float(gap.error),
                ),
            )
            for gap in fields.gaps
        ),
        source=str(file),
        document=document,
    )
    if not profile.gaps():
        raise Faulty([((), "expected a gap, or two marks on bearings that differ: else no width")])
    return profile


def _measured(width: float, error: float) -> Estimate:
    return Estimate(width, max(width - error, 0.0), width + error)


def _checked(model: type[_Model], document: Mapping[str, Any]) -> _Model:
    """The model of a document. Raises Faulty with every fault."""
    faults: list[Fault] = [(path, "expected a finite number") for path in unreal(document)]
    try:
        fields = model.model_validate(document)
    except ValidationError as error:
        raise Faulty([*faults, *reasons(error, model, ())]) from None
    if faults:
        raise Faulty(faults)
    return fields
