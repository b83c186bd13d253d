"""The three shapes against SciPy's distributions."""

from __future__ import annotations

import math
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.families import families
from drillrunner.odds.observe import Observation
from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import guess
from drillrunner.odds.shape import (
    _RADII,
    LIKELIHOODS,
    TWO_IN_THREE,
    Likelihood,
    Plausible,
    tail,
)
from drillrunner.odds.tails import normal_right

LAWS = {"t4": stats.t(4), "t2": stats.t(2), "normal": stats.norm()}


@pytest.mark.parametrize("likelihood", LIKELIHOODS)
def test_tails_against_scipy(likelihood: Likelihood) -> None:
    z = np.concatenate([np.linspace(0.0, 10.0, 20_001), np.geomspace(1e-9, 30.0, 500)])
    expected = LAWS[likelihood].sf(z)
    found = tail(likelihood, z)
    assert np.abs(found - expected).max() < 1e-14
    assert np.abs(found / expected - 1.0)[z <= 10.0].max() < 1e-9
    # Under a spread of next to nothing every place is far out.
    assert tail(likelihood, np.array([1e17, 1e30])).max() < 1e-30


# Half-width / 0.967422 is a normal spread, / 1.099356 a t4 scale: the quantiles at 5/6.
def test_two_in_three() -> None:
    for likelihood, factor in TWO_IN_THREE.items():
        assert factor == pytest.approx(LAWS[likelihood].ppf(5 / 6), abs=1e-12)
    assert TWO_IN_THREE["normal"] == pytest.approx(0.967422, abs=5e-7)
    assert TWO_IN_THREE["t4"] == pytest.approx(1.099356, abs=5e-7)


# Lateral spread = distance x tan(angle): 225 yd at 3.4 degrees, and 0.7382 inside 30 yd (computed).
def test_a_drive_inside_thirty_yards() -> None:
    spread = 225.0 * math.tan(math.radians(3.4))
    assert spread == pytest.approx(13.37, abs=0.005)
    known = Plausible.known(0.0, spread, "normal")
    assert known.chances([(-15.0, 15.0)])[0, 0] == pytest.approx(0.7382, abs=5e-5)


@pytest.mark.parametrize("likelihood", LIKELIHOODS)
def test_spans_on_both_sides_and_far_out(likelihood: Likelihood) -> None:
    law = LAWS[likelihood]
    spans = [(-math.inf, -20.0), (-20.0, 20.0), (20.0, math.inf), (-82.5, -77.5), (77.5, 82.5)]
    (found,) = Plausible.known(0.0, 9.0, likelihood).chances(spans).T
    assert found[:3].sum() == pytest.approx(1.0, abs=1e-15)
    assert found[3] == found[4]
    far = law.sf(77.5 / 9.0) - law.sf(82.5 / 9.0)
    assert found[4] == pytest.approx(far, rel=1e-8)
    (shifted,) = Plausible.known(-3.0, 9.0, likelihood).chances(spans).T
    assert shifted[1] == pytest.approx(law.cdf(23 / 9) - law.cdf(-17 / 9), abs=1e-14)


@pytest.mark.parametrize("spread", [0.0, -1.0, math.nan, math.inf])
def test_a_spread_must_be_above_nothing(spread: float) -> None:
    with pytest.raises(ValueError, match="spread"):
        Plausible.known(0.0, spread)


def test_a_normal_right_of_any_place() -> None:
    z = np.concatenate([np.linspace(-10.0, 10.0, 20_001), [-1e30, -1e6, -40.0, 40.0, 1e6, 1e30]])
    found, expected = normal_right(z), stats.norm.sf(z)
    assert np.abs(found - expected).max() < 1e-14
    assert np.abs(found / np.maximum(expected, 1e-99) - 1.0)[np.abs(z) <= 10.0].max() < 1e-9


@pytest.mark.parametrize("name", families())
def test_every_shape_is_the_mixture_that_it_says(name: str) -> None:
    """Each half of a bell by SciPy, weighing as much as it is wide (two-piece scale)."""
    family = families()[name]
    z = np.linspace(-12.0, 12.0, 4_802)
    law = LAWS[family.base]
    below = np.zeros(len(z))
    for share, at, left, right in family.bells:
        sides = np.where(z < at, left * law.cdf((z - at) / left), right * law.sf((z - at) / right))
        part = sides * 2.0 / (left + right)
        below += share * np.where(z < at, part, 1.0 - part)
    expected = np.where(z < 0.0, below, 1.0 - below)
    assert np.abs(family.beyond(z) - expected).max() < 1e-13


@pytest.mark.parametrize("count", [3, 200])
def test_two_in_three_of_a_bent_law_lie_within_its_half_width(count: int) -> None:
    """Beside all the radii that it is looked up between, for many laws of a two-way player."""
    rng = np.random.default_rng(1)
    hits = np.rint(rng.choice([-25.0, 10.0], count) + rng.normal(0.0, 6.0, count))
    said = [Observation(((hit - 0.5, hit + 0.5),)) for hit in hits.tolist()]
    laws = Pattern.of(said, guess(200.0)).laws
    assert laws.bent is not None
    radii = replace(laws, bent=None).half * _RADII[:, None]
    inside = laws.below(laws.mean + radii) - laws.below(laws.mean - radii)
    expected = [np.interp(2 / 3, held, at) for held, at in zip(inside.T, radii.T, strict=True)]
    assert laws.half == pytest.approx(expected, rel=1e-9)


def test_many_places_take_no_more_room_at_once_than_what_is_found() -> None:
    """The chances of 81 aims under all laws, beside each on its own."""
    said = [Observation(((hit - 0.5, hit + 0.5),)) for hit in (-14.0, -9.0, -3.0, 2.0, 5.0, 21.0)]
    laws = Pattern.of(said, guess(200.0)).laws
    assert laws.bent is not None
    spans = [(at - 15.25, at + 15.25) for at in range(-40, 41)]
    alone = np.concatenate([laws.chances([span]) for span in spans])
    tracemalloc.start()
    found = laws.chances(spans)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert (found == alone).all()
    # What is found, what lies below each of the 162 ends, both picked out of these, and a little.
    assert most < 8 * found.nbytes
