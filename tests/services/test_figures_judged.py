"""Figures that judge, worked out by another way: from players drawn, and from readings to the yard.

The chances of laying up come from players drawn from the model and weighed by what was seen; the
change of a pattern in a session from the misses as they were typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.practice.carries import lay_up as model
from drillrunner.practice.carries.stock import model_spread, table
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.keypad import read
from drillrunner.services.ledger import Ledger, look_back
from drillrunner.store.store import Store
from tests.practice.worlds import START, Clock, block, plan

DRAWS = 60_000


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load([bundled("games")])


# ---- stock carries ----


def chances(spreads: Sequence[float], carries: Sequence[float], kept: int) -> list[list[float]]:
    """Within 5 and 10 for each: players drawn from the model, weighed by what was seen of them."""
    rng = np.random.default_rng(7)
    expected = np.log([model_spread(carry, "yd", None) for carry in carries])
    ways = np.array(list(model.OWN.values()))
    own = rng.choice(list(model.OWN), DRAWS, p=ways / ways.sum())
    level = rng.normal(0.0, model.LEVEL_SD, DRAWS)
    slope = rng.normal(model.SLOPE, model.SLOPE_SD, DRAWS)
    line = expected.mean() + level[:, None] + slope[:, None] * (expected - expected.mean())
    true = np.exp(line + own[:, None] * rng.standard_normal(line.shape))
    free = kept - 1
    square = free * np.array(spreads) ** 2 / true**2
    log = (stats.chi2.logpdf(square, free) + np.log(square)).sum(axis=1)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    assert 1 / np.sum(weight**2) > 300, "too few draws tell of this player"
    wider = np.sqrt(1 + model.CENTRE / kept)
    inside = [2 * stats.norm.cdf(far / (true * wider)) - 1 for far in (5, 10)]
    # Nobody hit one badly: the common share of mishits, and each club's own, are drawn to it.
    none = len(carries) * kept
    common = model.MISHITS * model.ALIKE / (none + model.ALIKE)
    clean = 1 - model.ALIKE * common / (kept + model.ALIKE)
    return [(weight @ each * clean).tolist() for each in inside]


@pytest.mark.parametrize("spreads", [(3.0, 4.5, 6.0, 5.0), (5.0, 5.0, 5.0, 5.0)])
def test_the_chances_of_laying_up(tmp_path: Path, spreads: tuple[float, ...]) -> None:
    carries, kept = (50, 70, 90, 110), 8
    with Store.open(tmp_path / "a.db", lambda: START) as opened:
        player = opened.add_player("Ola")
        for carry, spread in zip(carries, spreads, strict=True):
            opened.save_stock_carry(
                player.id,
                club="sand-wedge",
                swing=f"to {carry}",
                unit="yd",
                carry=Decimal(carry),
                low=Decimal(carry - 3),
                high=Decimal(carry + 3),
                spread=Decimal(str(spread)),
                data={"carries": [carry] * kept, "kept": [True] * kept},
            )
        told = {
            float(up.stock.carry): up
            for up in model.lay_up(table(opened.stock_carries(player.id), START))
        }
    in_5, in_10 = chances(spreads, carries, kept)
    for carry, five, ten in zip(carries, in_5, in_10, strict=True):
        assert told[carry].within_5 == pytest.approx(five, abs=0.04)
        assert told[carry].within_10 == pytest.approx(ten, abs=0.04)


# ---- summary ----


def test_the_change_of_a_pattern_in_a_session(tmp_path: Path, catalogue: Catalogue) -> None:
    """Wide before and narrow today, both read to the yard: the readings' own two thirds."""
    rng = np.random.default_rng(3)
    before = np.rint(rng.normal(0, 14, 140)).astype(int)
    today = np.rint(rng.normal(0, 6, 60)).astype(int)
    drill, clock = catalogue.drill("miss-total"), Clock()
    with Store.open(tmp_path / "a.db", lambda: clock.at) as opened:
        player = opened.add_player("Ola")
        of = plan(block("drill", 40, 60, title="Ten", drill=drill.id))

        def play(balls: np.ndarray, ledger: Ledger | None) -> None:
            for run in balls.reshape(-1, 10).tolist():
                playing = opened.begin(player.id, drill) if ledger is None else ledger.begin(drill)
                for miss in run:
                    playing.append(read(f"{miss:+d}" if miss else "0", playing.run.ask))
                    clock.run(30)
                    if ledger is not None:
                        ledger.entered(playing)
                if ledger is not None:
                    ledger.left(playing)

        play(before, None)
        clock.run(86_400)
        ledger = Ledger.start(opened, player, of, Limits(40, 60), clock)
        play(today, ledger)
        ledger.stop()
        (change,) = look_back(opened, opened.session(ledger.id)).changes
    assert change.shots == len(today)
    for band, hits in ((change.before, before), (change.today, today)):
        within = np.quantile(np.abs(hits - hits.mean()), 2 / 3)
        assert band.median == pytest.approx(within, rel=0.12)
        assert band.low < within < band.high
    # The narrowing at which the two intervals, as long as they are, would just part.
    narrowed = change.before.median * (1 - change.least)
    upper = narrowed * np.sqrt(change.today.high / change.today.low)
    lower = change.before.median / np.sqrt(change.before.high / change.before.low)
    assert upper == pytest.approx(lower)
