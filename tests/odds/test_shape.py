"""The three shapes against SciPy's distributions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.shape import LIKELIHOODS, TWO_IN_THREE, Likelihood, Plausible, tail

LAWS = {"t4": stats.t(4), "t2": stats.t(2), "normal": stats.norm()}


@pytest.mark.parametrize("likelihood", LIKELIHOODS)
def test_tails_against_scipy(likelihood: Likelihood) -> None:
    z = np.concatenate([np.linspace(0.0, 10.0, 20_001), np.geomspace(1e-9, 30.0, 500)])
    expected = LAWS[likelihood].sf(z)
    found = tail(likelihood, z)
    assert np.abs(found - expected).max() < 1e-14
    assert np.abs(found / expected - 1.0)[z <= 10.0].max() < 1e-9


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
