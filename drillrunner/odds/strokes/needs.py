"""Where a player's strokes go: each kind of shot against golfers of a wanted level.

The gain of a stroke is what it took off the expected strokes, less one. Over a hole the gains add
up to the expected strokes from the tee less the score, exactly. What is typed of a hole moves
strokes between kinds even for the wanted level itself (chips after a bad long approach count
there), so each kind is compared with `_USUAL`: what golfers of the model come to, typed in the same
way. The prior's widths `_PRIOR` are our choice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from drillrunner.catalogue.strokes.golfer import Lie
from drillrunner.catalogue.strokes.table import Level
from drillrunner.rules.card import HolePlayed

Kind = Literal["driving", "60-100", "100-140", "140-180", "180+", "short", "putting"]
KINDS: tuple[Kind, ...] = get_args(Kind)
BANDS: tuple[Kind, ...] = ("60-100", "100-140", "140-180", "180+")
_EDGES = (60.0, 100.0, 140.0, 180.0)
PUTTS_ONLY: tuple[Kind, ...] = ("putting",)

_INDICES = (0.0, 10.0, 20.0, 30.0)
_USUAL = (
    (-0.08, 0.03, -0.06, -0.22, 0.07, 0.12, -0.12),
    (-0.06, 0.18, 0.08, -0.36, -0.45, 0.50, 0.02),
    (-0.11, 0.70, 0.19, -0.38, -1.40, 0.63, -0.04),
    (0.03, 0.73, 0.62, -0.14, -2.16, 0.63, -0.10),
)
"""Mean gain a round of a golfer of the model against itself, typed; rows as `_INDICES`."""
_ROUND_SD = (
    (1.01, 0.40, 0.57, 0.84, 0.78, 0.71, 1.71),
    (1.51, 0.83, 0.91, 1.24, 1.09, 1.09, 1.84),
    (1.97, 1.12, 1.26, 1.62, 1.35, 1.31, 2.13),
    (2.23, 1.34, 1.50, 1.92, 1.71, 1.18, 2.24),
)
"""How much that differs from round to round: sd of one."""
_PRIOR = (0.8, 0.4, 0.4, 0.6, 0.6, 0.7, 0.8)
EIGHTY = 1.2816
"""Standard deviations that hold eight in a hundred twenty: the normal's 0.9 quantile."""

EARLY, RANKED = 3.0, 10.0
"""Rounds before which it is too early to tell, and from which bands of length are ranked."""

_TEE_LIE: Mapping[str, Lie] = {
    "fairway": "fairway",
    "left": "rough",
    "right": "rough",
    "left-trees": "recovery",
    "right-trees": "recovery",
    "short": "rough",
    "penalty": "rough",
    "lost": "rough",
}


@dataclass(frozen=True)
class CardHole:
    """A hole of the course and what was played there. length: yards."""

    par: int
    length: float
    played: HolePlayed
    yards: float = 1.0
    """Yards in one of the unit that the hole's lengths are told in."""


@dataclass(frozen=True)
class Need:
    """Strokes a round that one kind of shot loses to the wanted level, with its 80 % interval.

    rounds: how many rounds tell of it; a nine is a half.
    """

    kind: Kind
    lost: float
    low: float
    high: float
    rounds: float

    @property
    def sure(self) -> bool:
        """Whether even the low end of the interval is a loss."""
        return self.rounds >= EARLY and self.low > 0.0


def kind_at(yards: float) -> Kind:
    """The kind that a shot of that length belongs to."""
    if yards < _EDGES[0]:
        return "short"
    return BANDS[sum(yards >= edge for edge in _EDGES) - 1]


def gains(hole: CardHole, level: Level) -> dict[Kind, float]:
    """What each kind gained on one hole; putting alone where only putts are told, else nothing.

    Of a whole hole they add up to the expected strokes from the tee less the score.
    """
    played = hole.played
    form = played.form(hole.par)
    if form is None or form == "score":
        return {}
    putts = float(played.putts or 0)
    on_green = 0.0 if played.putt is None else level.green(float(played.putt))
    putting: dict[Kind, float] = {"putting": on_green - putts}
    if form == "putts":
        return putting
    total: dict[Kind, float] = dict.fromkeys(KINDS, 0.0)
    total.update(putting)
    start = level.of(hole.length, "tee")
    before = played.strokes_before(hole.par)
    if hole.par == 3:
        yards, at = hole.length, start
        lie: Lie = "tee"
        driving_penalties = 0
        repeated = before
    else:
        yards, lie = _approach(hole)
        at = level.of(yards, lie)
        driving_penalties = played.tee_penalties
        total["driving"] = start - at - before - driving_penalties
        repeated = 0
    end, after = _end(played, yards, lie, hole.yards, on_green, level)
    around = played.around(hole.par) or 0
    penalties = played.all_penalties - driving_penalties
    total[kind_at(yards)] += at - end - 1 - penalties - repeated
    if around or end != on_green:
        total[after] += end - on_green - around
    return total


def _approach(hole: CardHole) -> tuple[float, Lie]:
    played = hole.played
    assert played.tee is not None
    assert played.approach is not None
    # Only the stroke after the tee shot is played from where that lay; later ones were meant to
    # lie well.
    next_one = played.strokes_before(hole.par) == 1 + int(played.tee == "lost")
    lie = _TEE_LIE[played.tee] if next_one else "fairway"
    return float(played.approach) * hole.yards, lie


def _end(
    played: HolePlayed, yards: float, lie: Lie, unit: float, on_green: float, level: Level
) -> tuple[float, Kind]:
    """What was left after the shot meant for the green, and the kind of the strokes from there."""
    if not played.off:
        return on_green, "short"
    if played.left is None:
        return level.missed(yards, lie), "short"
    left = float(played.left) * unit
    return level.of(left, played.lie or "rough"), kind_at(left)


@dataclass(frozen=True)
class RoundGains:
    """Gains of one round by kind, and what part of eighteen holes they tell of."""

    total: Mapping[Kind, float]
    part: Mapping[Kind, float]


def round_gains(holes: Sequence[CardHole], level: Level) -> RoundGains:
    """Add up a round. A nine is a half of one, and so is a round of which half is known."""
    total: dict[Kind, float] = dict.fromkeys(KINDS, 0.0)
    part: dict[Kind, float] = dict.fromkeys(KINDS, 0.0)
    for hole in holes:
        for kind, gain in gains(hole, level).items():
            total[kind] += gain
            part[kind] += 1 / 18
    return RoundGains(total, part)


def needs(rounds: Iterable[RoundGains], wanted: float, own: float) -> tuple[Need, ...]:
    """What each kind loses to the wanted index, worst first; `own` is the player's own index.

    Before ten rounds the bands stand in the order of length, where their sum belongs.
    """
    total: dict[Kind, float] = dict.fromkeys(KINDS, 0.0)
    count: dict[Kind, float] = dict.fromkeys(KINDS, 0.0)
    for one in rounds:
        for kind in KINDS:
            total[kind] += one.total[kind]
            count[kind] += one.part[kind]
    found = {}
    for at, kind in enumerate(KINDS):
        usual = _row(_USUAL, wanted)[at]
        spread = _row(_ROUND_SD, own)[at]
        n, prior = count[kind], _PRIOR[at]
        weight = prior**2 / (prior**2 + spread**2 / n) if n > 0 else 0.0
        lost = -weight * (total[kind] / n - usual) if n > 0 else 0.0
        half = EIGHTY * prior * (1.0 - weight) ** 0.5
        found[kind] = Need(kind, lost, lost - half, lost + half, round(n, 2))
    return _ordered(found)


def _ordered(found: Mapping[Kind, Need]) -> tuple[Need, ...]:
    if min(found[kind].rounds for kind in BANDS) >= RANKED:
        return tuple(sorted(found.values(), key=lambda need: -need.lost))
    together = sum(found[kind].lost for kind in BANDS)
    place = {kind: together if kind in BANDS else need.lost for kind, need in found.items()}
    return tuple(
        sorted(found.values(), key=lambda need: (-place[need.kind], need.kind not in BANDS))
    )


def _row(rows: Sequence[Sequence[float]], index: float) -> list[float]:
    """A row of a table by index, on a straight line between two; the ends hold beyond them."""
    at = min(max(index, _INDICES[0]), _INDICES[-1])
    high = max(1, min(int(at // 10) + 1, len(rows) - 1))
    share = (at - _INDICES[high - 1]) / 10.0
    return [a + (b - a) * share for a, b in zip(rows[high - 1], rows[high], strict=True)]
