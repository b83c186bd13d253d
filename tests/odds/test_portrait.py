"""Every figure of the pattern screen, worked out from the entries by another way: by counting.

The entries are readings of made-up players on a 1 yd grid; what a figure must be is taken from the
readings themselves, with no shape and no guess. 350 balls that count alike leave the guess little
to say, so a figure may lie off its count by what its own interval allows.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.desk import WIDTHS, Picture, Player
from drillrunner.odds.portrait import FINISHES, PatternSide, side_of
from drillrunner.odds.reading import USEFUL
from drillrunner.rules import Aim, Seen, Shot, Unit
from tests.odds.balls import Ball

BALLS = 350
KINDS = ("even", "two-way", "skewed", "careless")


def readings(kind: str) -> np.ndarray:
    """Whole yards, newest first. Only the first kind has a shape that the pattern knows."""
    rng = np.random.default_rng(KINDS.index(kind))
    size = rng.standard_normal(BALLS)
    hits = {
        "even": 6.0 + 11.0 * size,
        "two-way": np.where(rng.random(BALLS) < 0.4, -18.0, 16.0) + 7.0 * size,
        "skewed": 7.0 * (rng.gamma(2.0, 1.0, BALLS) - 1.5),
        "careless": 3.0 + 8.0 * size * np.where(rng.random(BALLS) < 0.2, 4.0, 1.0),
    }[kind]
    return np.clip(np.rint(hits), -150, 150).astype(int)


def side(kind: str, unit: Unit = "yd") -> PatternSide:
    grid = Decimal(1)
    balls = [
        Ball(Shot(lateral=Seen.number(Decimal(at), grid)), Aim(), unit)
        for at in readings(kind).tolist()
    ]
    return side_of(Picture(balls, Player(200.0), None), "lateral", unit)


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_is_what_counting_makes_of_the_entries(kind: str) -> None:
    found, hits = side(kind), readings(kind)
    assert found.shots == BALLS
    assert not found.guess
    mean = hits.mean()
    # The mean's interval: the central limit theorem on the readings.
    error = hits.std(ddof=1) / math.sqrt(BALLS)
    assert found.bias.median == pytest.approx(mean, abs=1.3 * error)
    assert (found.bias.high - found.bias.low) / 2 == pytest.approx(1.2816 * error, rel=0.35)
    within = np.quantile(np.abs(hits - mean), 2 / 3)
    assert found.half_width.median == pytest.approx(within, rel=0.1)
    assert found.half_width.low * 0.97 < within < found.half_width.high * 1.03
    # Which side: Student's t of the readings.
    right = float(stats.t(BALLS - 1).cdf(mean / error))
    assert ("right" in found.said) == (right > 0.8)
    assert ("left" in found.said) == (right < 0.2)
    for at, (width, band, by_shape) in enumerate(found.inside):
        inside = np.abs(hits) <= width / 2
        # A reading on the edge lies half in.
        share = float(np.mean(inside) - np.mean(np.abs(hits) == width / 2) / 2)
        assert not by_shape
        assert band.median == pytest.approx(share, abs=0.045), width
        # Clopper and Pearson's 80 % interval of the count, without any shape.
        count = int(inside.sum())
        low, high = (
            stats.beta.ppf(0.1, count, BALLS - count + 1),
            stats.beta.ppf(0.9, count + 1, BALLS - count),
        )
        assert band.high - band.low < 1.2 * (high - low), width
        tally = found.counted[at]
        assert (tally.inside, tally.of) == (
            int(np.sum(np.abs(hits[:FINISHES]) <= width / 2)),
            FINISHES,
        )
        assert found.more[at] == 0
        assert band.high - band.low < 2 * USEFUL
        _aims_where_most_readings_would_hold(found, at, width, hits)


def _aims_where_most_readings_would_hold(
    found: PatternSide, at: int, width: int, hits: np.ndarray
) -> None:
    held = {
        off: float(
            np.mean((np.abs(hits + off) < width / 2) + (np.abs(hits + off) == width / 2) / 2)
        )
        for off in range(-40, 41)
    }
    aim = found.aims[at]
    if aim is None:
        assert max(held.values()) - held[0] < 0.07, width
        return
    assert aim.straight == pytest.approx(held[0], abs=0.05)
    assert aim.holds == pytest.approx(held[aim.off], abs=0.06)
    assert held[aim.off] > max(held.values()) - 0.06


@pytest.mark.parametrize(
    ("kind", "said"),
    [("even", None), ("two-way", "two misses: left and right, little between")],
)
def test_the_shape_is_what_the_readings_show(kind: str, said: str | None) -> None:
    """Two-way: fewer readings within a third of the spread of the mean than a normal has."""
    found, hits = side(kind), readings(kind)
    assert found.shape == said
    middle = float(np.mean(np.abs(hits - hits.mean()) < hits.std() / 3))
    assert (middle < 0.2) == (said is not None)


def test_the_dots_are_the_latest_readings() -> None:
    found, hits = side("even"), readings("even")
    assert len(found.finishes) == FINISHES
    for finish, at in zip(found.finishes, hits.tolist(), strict=False):
        assert finish.read
        assert finish.spans == (pytest.approx((at - 0.5, at + 0.5)),)


def test_in_metres_the_same_readings_mean_metres() -> None:
    """The same numbers in another unit: only the guess, which is in yards, is another."""
    yards, metres = side("even"), side("even", "m")
    assert metres.bias.median == pytest.approx(yards.bias.median, abs=0.2)
    assert metres.half_width.median == pytest.approx(yards.half_width.median, rel=0.03)
    for one, other, width in zip(yards.inside, metres.inside, WIDTHS, strict=True):
        assert other[0] == width
        assert other[1].median == pytest.approx(one[1].median, abs=0.02)
    assert [c[:2] for c in metres.counted] == [c[:2] for c in yards.counted]
