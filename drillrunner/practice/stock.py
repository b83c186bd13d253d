"""The stock carry: what one swing of one club repeats, from 5 to 12 blind carries.

The rule, as it is shown: *the shot furthest from the middle is left out if it is more than four
times as far from it as the typical shot; at most one in five is ever left out.* The middle is the
median of all the shots and the typical distance the median of theirs from it, never less than
half a step of the numbers typed, so that rounding alone leaves nothing out.

The stock carry is the mean of the shots that are kept. Its interval is Student's, widened by 1.4
to pay for having looked before leaving out. The factor was found by simulation: over 5 to 12
shots, without a mishit and with one in five (four times the spread, or four to ten spreads short)
the interval that says 80 % holds the true carry 80 to 88 times in 100; the tests repeat it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from statistics import mean, median, stdev
from typing import Literal

from drillrunner.rules.units import Unit, convert

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

TWO_IN_THREE = 0.967422
"""Half-width of the middle two-thirds of a normal spread, in standard deviations (FACTS:
computed)."""

DEPTH_HELD = ((90, 14.5), (110, 15.5), (130, 16.0), (150, 17.0), (170, 18.5), (190, 21.0))
"""Carry in yards, and the depth in yards expected to hold two shots in three of a scratch golfer:
the mean of the men's and women's columns of the accuracy table of the Course Rating System Manual
(USGA / World Handicap System), section 4. A model, not a measured sample; below 90 yards it is
taken in proportion to the carry, and beyond 190 as it is there (both our choice)."""

RULE = (
    "left out: more than four times as far from the middle as the typical shot, "
    "at most one shot in five"
)

Verdict = Literal["own it", "not yet", "too early to tell"]


@dataclass(frozen=True)
class Found:
    """What a search for a stock carry found; distances in the unit that was typed.

    kept: for each carry, whether it counts. low, high: the 80 % interval of the stock carry.
    spread: standard deviation of the kept shots, with `spread_low` to `spread_high` at 80 %.
    allowed: the spread up to which a swing is repeatable enough to own.
    """

    carries: tuple[Decimal, ...]
    kept: tuple[bool, ...]
    carry: float
    low: float
    high: float
    spread: float
    spread_low: float
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
    spread_low = spread * math.sqrt(free / chi2_quantile((1 + SURE) / 2, free))
    spread_high = spread * math.sqrt(free / chi2_quantile((1 - SURE) / 2, free))
    allowed = allowed_spread(carry, unit)
    verdict: Verdict = "too early to tell"
    if spread_high <= allowed:
        verdict = "own it"
    elif spread_low > allowed:
        verdict = "not yet"
    return Found(
        carries=tuple(carries),
        kept=kept,
        carry=carry,
        low=carry - reach,
        high=carry + reach,
        spread=spread,
        spread_low=spread_low,
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
    """The spread up to which a carry is repeatable enough to own: a scratch golfer's.

    From `DEPTH_HELD`, read as a normal spread; in the unit given. That a scratch golfer's spread
    is what makes a swing worth owning is our choice.
    """
    yards = float(convert(Decimal(str(carry)), unit, "yd"))
    first, last = DEPTH_HELD[0], DEPTH_HELD[-1]
    if yards <= first[0]:
        depth = first[1] * yards / first[0]
    elif yards >= last[0]:
        depth = last[1]
    else:
        depth = next(
            low + (high - low) * (yards - near) / (far - near)
            for (near, low), (far, high) in zip(DEPTH_HELD, DEPTH_HELD[1:], strict=False)
            if yards <= far
        )
    return float(convert(Decimal(str(depth / 2 / TWO_IN_THREE)), "yd", unit))


@dataclass(frozen=True)
class StockCarry:
    """A stock carry that was found: whose swing of which club, and when.

    `shots` were hit and `kept` of them counted; distances are in `unit`.
    """

    club: str
    swing: str
    carry: Decimal
    low: Decimal
    high: Decimal
    spread: Decimal
    unit: Unit
    at: datetime
    shots: int
    kept: int

    def in_unit(self, unit: Unit) -> StockCarry:
        """The same in another unit; the carry is the nearest whole one."""
        if unit == self.unit:
            return self
        one = {
            name: round(convert(getattr(self, name), self.unit, unit), 0 if name == "carry" else 2)
            for name in ("carry", "low", "high", "spread")
        }
        return StockCarry(**{**vars(self), **one, "unit": unit})


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
    """The newest stock carry of each club and swing, shortest first."""
    newest: dict[tuple[str, str], StockCarry] = {}
    for stock in stocks:
        held = newest.get((stock.club, stock.swing))
        if held is None or stock.at >= held.at:
            newest[stock.club, stock.swing] = stock
    ordered = sorted(
        (stock.in_unit(unit) for stock in newest.values()),
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
    one_more = float(stock.spread) * math.sqrt(1 + 1 / stock.kept)
    inside = 2 * student_cdf(distance / one_more, stock.kept - 1) - 1
    return inside * stock.kept / stock.shots


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


def student_quantile(p: float, free: int) -> float:
    """The point below which Student's t lies with chance p, 0.5 <= p < 1."""
    return _solve(lambda t: student_cdf(t, free), p, 1e6)


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
