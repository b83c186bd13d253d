"""The stock carry: what one swing of one club repeats, from 5 to 12 blind carries.

The rule, as it is shown: *the shot furthest from the middle is left out if it is more than four
times as far from it as the typical shot; at most one in five is ever left out.* The middle is the
median of all the shots and the typical distance the median of theirs from it, never less than
half a step of the numbers typed, so that rounding alone leaves nothing out.

The stock carry is the mean of the shots that are kept. Its interval is Student's, widened by 1.4
to pay for having looked before leaving out. The factor was found by simulation: over 5 to 12
shots, without a mishit and with one in five (four times the spread, or four to ten spreads short)
the interval that says 80 % holds the true carry 80 to 92 times in 100, and 79 to 89 where each shot
is mishit with one chance in five, so that often more are than can be left out; the tests repeat it.
The upper bound of the spread is widened alike, and is too low at most once in nine.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from statistics import mean, median, stdev
from typing import Any, Literal

from drillrunner.odds.prior import guess
from drillrunner.odds.words import uncertain
from drillrunner.rules.units import Unit, convert, whole
from drillrunner.store.shapes import StockCarry

FEWEST, MOST = 5, 12
"""Carries that a search takes."""

ONE_IN = 5
"""At most one shot in so many is left out."""

FURTHER = 4.0
"""A shot is left out when it is more than this many times as far off as the typical shot."""

WIDENED = 1.4
"""What the interval pays for leaving shots out after looking at them."""

SURE = 0.8
"""How often the interval holds the true carry."""

STALE_DAYS = 90
"""Days after which a stock carry wants finding again. Common practice, no source."""

FIRST_ROW = 90
"""Yards: the shortest shot in the accuracy table."""

TWO_IN_THREE = 0.967422
"""Half-width of the middle two-thirds of a normal spread, in standard deviations:
its quantile at 5/6."""

RULE = (
    "left out: more than four times as far from the middle as the typical shot, "
    "at most one shot in five"
)

Stocks = Mapping[tuple[str, str], StockCarry]
"""The stock carry in force of each club and swing."""


Verdict = Literal["own it", "not yet", "too early to tell"]


@dataclass(frozen=True)
class Found:
    """What a search for a stock carry found; distances in the unit that was typed.

    kept: for each carry, whether it counts. low, high: the 80 % interval of the stock carry.
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

    @property
    def left_out(self) -> tuple[Decimal, ...]:
        """The carries that were left out, in the order they were hit."""
        return tuple(c for c, kept in zip(self.carries, self.kept, strict=True) if not kept)

    @property
    def whole(self) -> Decimal:
        """The stock carry as a whole number, the one that a drill takes as its aim."""
        return Decimal(math.floor(self.carry + 0.5))

    @property
    def why(self) -> str:
        """The verdict in one line."""
        share = f"spread {self.spread:.1f}, and up to {self.allowed:.1f} is repeatable enough"
        if self.verdict == "too early to tell":
            return f"too early to tell from {sum(self.kept)} shots: {share}"
        return f"{self.verdict}: {share}"


def find(carries: Sequence[Decimal], unit: Unit = "yd", grid: Decimal = Decimal(1)) -> Found:
    """The stock carry of 5 to 12 carries. Raises ValueError for any other number of them."""
    if not FEWEST <= len(carries) <= MOST:
        raise ValueError(f"{len(carries)} carries: expected {FEWEST} to {MOST}")
    kept = keep(carries, grid)
    held = [float(c) for c, keeps in zip(carries, kept, strict=True) if keeps]
    carry = mean(held)
    free = len(held) - 1
    spread = max(stdev(held), float(grid) / math.sqrt(12))
    reach = WIDENED * student_quantile((1 + SURE) / 2, free) * spread / math.sqrt(len(held))
    spread_high = WIDENED * spread * math.sqrt(free / chi2_quantile((1 - SURE) / 2, free))
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
    )


def keep(carries: Sequence[Decimal], grid: Decimal = Decimal(1)) -> tuple[bool, ...]:
    """Which carries count, by the rule at the head of this module."""
    middle = median(carries)
    off = [abs(carry - middle) for carry in carries]
    limit = FURTHER * float(max(median(off), grid / 2))
    furthest = sorted(range(len(carries)), key=lambda at: (-off[at], at))
    out = {at for at in furthest[: len(carries) // ONE_IN] if off[at] > limit}
    return tuple(at not in out for at in range(len(carries)))


def allowed_spread(carry: float, unit: Unit = "yd") -> float:
    """The spread up to which a swing is repeatable enough to own, in the unit given.

    It is the depth that the rating model expects of a scratch golfer at that distance (see
    `odds.prior` for the source), read as a normal spread; below the table's first row, 90 yards,
    in proportion to the carry. That a scratch golfer is the measure is our choice.
    """
    yards = float(convert(Decimal(str(carry)), unit, "yd"))
    half = guess(yards, "depth", index=0).half_width * min(yards / FIRST_ROW, 1)
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
class Row:
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
) -> tuple[Row, ...]:
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
            Row(
                stock=stock,
                stale=now - stock.at > timedelta(days=stale_days),
                gap=gap,
                uncovered=uncovered,
                overlaps=after is not None and after.low <= stock.high,
            )
        )
    return tuple(rows)


def chance_within(stock: StockCarry, distance: float) -> float:
    """The chance that the next shot carries within `distance` of the stock carry.

    Student's prediction for one more shot, from the swing's own spread and number of shots; a
    mishit like those that were left out counts as outside.
    """
    kept: list[bool] = stock.data["kept"]
    count = sum(kept)
    one_more = float(stock.spread) * math.sqrt(1 + 1 / count)
    inside = 2 * student_cdf(distance / one_more, count - 1) - 1
    return inside * count / len(kept)


@dataclass(frozen=True)
class LayUp:
    """A distance to leave, and the chance of finishing within 5 and within 10 of the flag."""

    stock: StockCarry
    within_5: float
    within_10: float


def lay_up(rows: Iterable[Row]) -> tuple[LayUp, ...]:
    """The stock carries as distances to leave oneself, the best chance within 5 first.

    Stale ones are not offered. Depth only: a carry says nothing of left and right.
    """
    left = [
        LayUp(row.stock, chance_within(row.stock, 5), chance_within(row.stock, 10))
        for row in rows
        if not row.stale
    ]
    return tuple(sorted(left, key=lambda up: (-up.within_5, -up.within_10, up.stock.carry)))


def lay_up_words(ups: Sequence[LayUp]) -> str:
    """The strategy in a line: which distance to leave, and the next best; empty without any."""

    def words(up: LayUp) -> str:
        stock = up.stock
        return (
            f"{stock.carry:.0f} {stock.unit} ({stock.club}, {stock.swing}): "
            f"{uncertain(up.within_5)} % within 5 {stock.unit} of the distance, "
            f"{uncertain(up.within_10)} % within 10"
        )

    if not ups:
        return ""
    return "leave yourself " + "; then ".join(words(up) for up in ups[:2])


def student_cdf(t: float, free: int) -> float:
    """Student's t distribution for a whole number of degrees of freedom.

    The closed form for whole degrees of freedom: Abramowitz & Stegun, 26.7.3 and 26.7.4 (from
    memory; the tests check it against published quantiles and SciPy).
    """
    angle = math.atan2(t, math.sqrt(free))
    cosine, sine = math.cos(angle), math.sin(angle)
    term = total = cosine if free % 2 else 1.0
    for k in range(3 if free % 2 else 2, free - 1, 2):
        term *= cosine * cosine * (k - 1) / k
        total += term
    if free == 1:
        middle = 2 * angle / math.pi
    elif free % 2:
        middle = 2 / math.pi * (angle + sine * total)
    else:
        middle = sine * total
    return (1 + middle) / 2


@lru_cache
def student_quantile(p: float, free: int) -> float:
    """The point below which Student's t lies with chance p, 0.5 <= p < 1."""
    return _solve(lambda t: student_cdf(t, free), p, 1e6)


@lru_cache
def chi2_quantile(p: float, free: int) -> float:
    """The point below which chi-squared lies with chance p."""
    return _solve(lambda x: _gamma_share(free / 2, x / 2), p, 1e3)


def _gamma_share(a: float, x: float) -> float:
    """The regularised lower incomplete gamma function, by its series."""
    if x <= 0:
        return 0.0
    term = total = 1 / a
    k = 1
    while term > total * 1e-16:
        term *= x / (a + k)
        total += term
        k += 1
    return min(total * math.exp(a * math.log(x) - x - math.lgamma(a)), 1.0)


def _solve(rising: Callable[[float], float], target: float, high: float) -> float:
    """Where a rising function of 0 to `high` reaches the target, by halving."""
    low = 0.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < target else (low, middle)
    return (low + high) / 2
