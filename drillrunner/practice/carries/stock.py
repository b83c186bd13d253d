"""The stock carry: what one swing of one club repeats, from 5 to 12 blind carries.

The rule, as it is shown: *the further a shot lies from the middle, the less it counts*. The carry
is the likeliest centre of a Student t with three degrees of freedom, its scale drawn towards what
the rating model expects of such a shot as if two more shots had been seen. A shot more than
three and a half spreads off is a mishit: it stays out of the spread.

The estimator was chosen by simulation (`python -m tests.practice.carries.stock_estimators`) among
the mean, the median, a trimmed mean, Huber's, Student's and leaving out by a rule, over clean,
long-tailed and mishit shots: a clean search costs it 5 % more error than the mean, and with one
mishit in ten it has the least error of all or close to it.

The interval is Student's, widened by what the same simulations ask for, so that one that says 80 %
holds the true carry 80 to 92 times in 100, with one mishit in five too; the tests repeat it. The
upper bound of the spread is too low at most once in nine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from operator import mul
from statistics import median, stdev
from typing import Any, Literal

from drillrunner.odds.prior import table_half
from drillrunner.practice.carries.student import chi2_quantile, student_quantile
from drillrunner.rules.units import Unit, convert, whole
from drillrunner.store.shapes import StockCarry

FEWEST, MOST = 5, 12
"""Carries that a search takes."""

TAIL = 3.0
"""Degrees of freedom of the Student t: how gently a shot far off loses its weight."""

MODEL_SHOTS = 2
"""Shots that the model's spread counts for, when the scale is found."""

FAR_OFF = 3.5
"""Spreads from the carry beyond which a shot is a mishit."""

WIDENED, SPREAD_WIDENED = 1.15, 1.1
"""What the intervals of carry and spread pay for calling a shot a mishit after looking at it."""

USUAL_SPREAD = 6.0
"""A spread to speak of before there is one. Common practice, no source."""

SURE = 0.8
"""How often the interval holds the true carry."""

STALE_DAYS = 90
"""Days after which a stock carry wants finding again. Common practice, no source."""

FIRST_ROW = 90
"""Yards: the shortest shot in the accuracy table."""

TWO_IN_THREE = 0.967422
"""Half-width of the middle two-thirds of a normal spread, in standard deviations:
its quantile at 5/6."""

RULE = "the further a shot is from the middle, the less it counts; one far off is marked out"

Stocks = Mapping[tuple[str, str], StockCarry]
"""The stock carry in force of each club and swing."""


Verdict = Literal["own it", "not yet", "too early to tell"]


@dataclass(frozen=True)
class Found:
    """What a search for a stock carry found; distances in the unit that was typed.

    kept: for each carry, whether it is no mishit. low, high: the 80 % interval of the stock carry.
    spread: standard deviation of the kept shots; `spread_high` is what it may well be.
    allowed: the spread up to which a swing is repeatable enough to own.
    """

    carries: tuple[Decimal, ...]
    kept: tuple[bool, ...]
    carry: float
    low: float
    high: float
    spread: float
    spread_high: float
    allowed: float
    verdict: Verdict
    unit: Unit

    @property
    def left_out(self) -> tuple[Decimal, ...]:
        """The mishits, in the order they were hit."""
        return tuple(c for c, kept in zip(self.carries, self.kept, strict=True) if not kept)

    @property
    def whole(self) -> Decimal:
        """The stock carry as a whole number, the one that a drill takes as its aim."""
        return Decimal(math.floor(self.carry + 0.5))

    @property
    def why(self) -> str:
        """The verdict in one line."""
        limit = f"{self.allowed:.1f} {self.unit}"
        share = f"spread {self.spread:.1f}, and up to {limit} is repeatable enough"
        if self.verdict == "too early to tell":
            return f"too early to tell from {sum(self.kept)} shots: {share}"
        return f"{self.verdict}: {share}"


def find(carries: Sequence[Decimal], unit: Unit = "yd", grid: Decimal = Decimal(1)) -> Found:
    """The stock carry of 5 to 12 carries. Raises ValueError for any other number of them."""
    if not FEWEST <= len(carries) <= MOST:
        raise ValueError(f"{len(carries)} carries: expected {FEWEST} to {MOST}")
    carry, scale = _centre([float(c) for c in carries], expected(carries, unit), float(grid))
    kept = tuple(abs(float(c) - carry) <= FAR_OFF * scale for c in carries)
    held = [float(c) for c, keeps in zip(carries, kept, strict=True) if keeps]
    free = len(held) - 1
    spread = max(stdev(held), float(grid) / math.sqrt(12))
    reach = give_or_take(len(held), spread)
    spread_high = SPREAD_WIDENED * spread * math.sqrt(free / chi2_quantile((1 - SURE) / 2, free))
    allowed = allowed_spread(carry, unit)
    verdict: Verdict = "too early to tell"
    if spread_high <= allowed:
        verdict = "own it"
    elif spread > allowed:
        verdict = "not yet"
    return Found(
        carries=tuple(carries),
        kept=kept,
        carry=carry,
        low=carry - reach,
        high=carry + reach,
        spread=spread,
        spread_high=spread_high,
        allowed=allowed,
        verdict=verdict,
        unit=unit,
    )


def give_or_take(shots: int, spread: float) -> float:
    """How far either way the 80 % interval of so many shots reaches at a spread."""
    return WIDENED * student_quantile((1 + SURE) / 2, shots - 1) * spread / math.sqrt(shots)


def what_shots_can_do(shots: int, unit: Unit) -> str:
    """How well so many shots place a stock carry, in words, at a spread that many players have."""
    reach = give_or_take(shots, USUAL_SPREAD)
    usual = f"{shots} shots with a spread of {USUAL_SPREAD:g} {unit}"
    return f"{usual} find it give or take {reach:.0f} {unit}"


def expected(carries: Sequence[Decimal], unit: Unit) -> float:
    """The spread that the rating model expects of such shots, by a player who gave no index."""
    return model_spread(float(median(carries)), unit, None)


def _centre(carries: Sequence[float], model: float, grid: float) -> tuple[float, float]:
    """The likeliest centre of a Student t, and the spread of a normal one that is as wide.

    Weights and scale in turn, until they stay (Lange, Little & Taylor 1989, J. Am. Stat. Assoc.
    84:881-896, from memory).
    """
    at = median(carries)
    least = grid / math.sqrt(12)
    scale = max(median(abs(c - at) for c in carries), least)
    off = [c - at for c in carries]
    for _ in range(60):
        before = at, scale
        weights = [(TAIL + 1) / (TAIL + (o / scale) ** 2) for o in off]
        # As a step from where it is, so that equal carries stay what they are.
        at += sum(map(mul, weights, off)) / sum(weights)
        off = [c - at for c in carries]
        square = sum(map(mul, weights, [o**2 for o in off]))
        square += MODEL_SHOTS * model**2
        scale = max(math.sqrt(square / (len(carries) + MODEL_SHOTS)), least)
        if (at, scale) == before:
            break
    # A mean of floats may lie beyond all of them by a rounding.
    return min(max(at, min(carries)), max(carries)), scale


def allowed_spread(carry: float, unit: Unit = "yd") -> float:
    """The spread up to which a swing is repeatable enough to own, in the unit given.

    It is the depth that the rating model expects of a scratch golfer at that distance (see
    `odds.prior` for the source), read as a normal spread; below the table's first row, 90 yards,
    in proportion to the carry. That a scratch golfer is the measure is our choice.
    """
    return model_spread(carry, unit, 0)


def model_spread(carry: float, unit: Unit, index: float | None) -> float:
    """The spread that the rating model expects at a carry, in the unit given."""
    yards = float(convert(Decimal(str(carry)), unit, "yd"))
    half = table_half(yards, "depth", index, None) * min(yards / FIRST_ROW, 1)
    return float(convert(Decimal(str(half / TWO_IN_THREE)), "yd", unit))


def record(found: Found, grid: Decimal = Decimal(1)) -> dict[str, Any]:
    """What is kept of a search, as the store's `save_stock_carry` takes it.

    The carry is the whole number that a drill aims at; the rest has two decimals.
    """
    return {
        "carry": found.whole,
        "low": _cents(found.low),
        "high": _cents(found.high),
        "spread": _cents(found.spread),
        "data": {
            "carries": [str(carry) for carry in found.carries],
            "kept": list(found.kept),
            "grid": str(grid),
            "rule": RULE,
        },
    }


def _cents(value: float) -> Decimal:
    return Decimal(str(round(value, 2)))


def in_unit(stock: StockCarry, unit: Unit) -> StockCarry:
    """A stock carry in another unit; the carry is the nearest whole one."""
    if unit == stock.unit:
        return stock

    def other(value: Decimal) -> Decimal:
        return round(convert(value, stock.unit, unit), 2)

    return stock._replace(
        unit=unit,
        carry=whole(convert(stock.carry, stock.unit, unit)),
        low=other(stock.low),
        high=other(stock.high),
        spread=other(stock.spread),
    )


def in_force(stocks: Iterable[StockCarry]) -> Stocks:
    """The stock carry in force of each club and swing.

    stocks: the latest found first, as the store gives them.
    """
    newest: dict[tuple[str, str], StockCarry] = {}
    for stock in stocks:
        newest.setdefault((stock.club, stock.swing), stock)
    return newest


@dataclass(frozen=True)
class CarryRow:
    """One stock carry in the table, with what lies between it and the next longer one.

    gap: to the next carry. uncovered: the part of the gap that two shots in three of neither
    reach, 0 if there is none. overlaps: whether the two intervals meet, so that they may be the
    same carry. stale: found longer ago than the days allowed.
    """

    stock: StockCarry
    stale: bool
    gap: Decimal | None
    uncovered: Decimal | None
    overlaps: bool


def table(
    stocks: Iterable[StockCarry],
    now: datetime,
    unit: Unit = "yd",
    stale_days: int = STALE_DAYS,
) -> tuple[CarryRow, ...]:
    """The stock carries in force, shortest first. stocks: the latest found first."""
    ordered = sorted(
        (in_unit(stock, unit) for stock in in_force(stocks).values()),
        key=lambda s: (s.carry, s.club, s.swing),
    )
    rows = []
    for at, stock in enumerate(ordered):
        after = ordered[at + 1] if at + 1 < len(ordered) else None
        gap = uncovered = None
        if after is not None:
            gap = after.carry - stock.carry
            reach = (stock.spread + after.spread) * Decimal(str(TWO_IN_THREE))
            uncovered = max(gap - reach, Decimal(0))
        rows.append(
            CarryRow(
                stock=stock,
                stale=now - stock.at > timedelta(days=stale_days),
                gap=gap,
                uncovered=uncovered,
                overlaps=after is not None and after.low <= stock.high,
            )
        )
    return tuple(rows)
