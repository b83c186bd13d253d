"""The dial turned to the wanted chance: nearest of all its steps, by trying them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from scipy import stats

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.odds.chance import Chance, Patterns, chance
from drillrunner.odds.pattern import Band
from drillrunner.odds.shape import Plausible
from drillrunner.odds.tune import NoDial, advice, misfit, tune
from drillrunner.odds.words import band, share

D = Decimal


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load([bundled("games")])


def own(folder: Path, text: str) -> Drill:
    """A drill of the tester's own, beside the bundled games."""
    (folder / "own.toml").write_text(f'id = "own"\ntitle = "Own"\nabout = "Own."\n{text}')
    return load([bundled("games"), folder]).drill("own")


def patterns(_drill: Drill) -> Patterns:
    return Patterns(Plausible.known(3.0, 15.0, "t4"), Plausible.known(-2.0, 6.0, "t4"))


def test_the_corridor_for_an_even_chance(catalogue: Catalogue) -> None:
    """More than nine held before three misses, against the negative binomial at every width."""
    found = tune(catalogue.drill("hold-the-corridor"), patterns, 9, 0.5)

    def held(width: int) -> float:
        p = stats.t(4).cdf((width / 2 - 3) / 15) - stats.t(4).cdf((-width / 2 - 3) / 15)
        return float(stats.nbinom(3, 1 - p).sf(9))

    nearest = min(range(10, 101), key=lambda width: abs(held(width) - 0.5))
    assert (found.dial, found.value) == ("aim.width", nearest)
    assert found.chance.chance == pytest.approx(held(nearest), abs=1e-9)
    assert found.drill.aim.width == nearest


@cache
def every_step(drill: Drill, beat: int) -> list[float]:
    """The chance at each step of a drill's dial."""
    assert drill.dial is not None
    value, found = drill.dial.low, []
    while value <= drill.dial.high:
        game = drill.with_value(drill.dial.field, value).game()
        found.append(chance(game, game.start(), patterns(drill), beat).chance)
        value += drill.dial.step
    return found


@pytest.mark.parametrize("wanted", [0.0, 0.25, 0.5, 0.9, 1.0])
@pytest.mark.parametrize(
    ("id", "beat"), [("three-drives-in-a-row", 9), ("miss-total-five", 60), ("on-the-number", 5)]
)
def test_nearest_of_every_step(catalogue: Catalogue, id: str, beat: int, wanted: float) -> None:
    drill = catalogue.drill(id)
    found = tune(drill, patterns, beat, wanted)
    nearest = min(abs(here - wanted) for here in every_step(drill, beat))
    assert abs(found.chance.chance - wanted) == pytest.approx(nearest, abs=1e-12)


def test_a_long_dial_is_searched_and_not_only_sampled(tmp_path: Path) -> None:
    text = """
        game = "lives"
        club = "driver"
        aim = { width = 40 }
        dial = { field = "aim.width", from = 10, to = 100, step = 0.01 }
    """
    long = own(tmp_path, text)
    found = tune(long, patterns, 9, 0.5)
    assert abs(found.chance.chance - 0.5) < 2e-4


def test_values_that_the_game_refuses_are_passed_over(tmp_path: Path) -> None:
    text = """
        game = "in_a_row"
        club = "driver"
        aim = { width = 40 }
        settings = { length = 4, limit = 5 }
        dial = { field = "settings.length", from = 2, to = 5, step = 1 }
    """
    drill = own(tmp_path, text)
    assert drill.dial is not None
    wider = replace(drill, dial=replace(drill.dial, high=D(8)))
    found = tune(wider, patterns, 6, 0.0)
    assert 2 <= found.value <= 5


def test_no_dial_is_said(catalogue: Catalogue) -> None:
    drill = catalogue.drill("hold-the-corridor")
    with pytest.raises(NoDial, match="names no dial"):
        tune(replace(drill, dial=None), patterns, 9, 0.5)


def test_advice_only_where_it_is_plain(catalogue: Catalogue) -> None:
    drill = catalogue.drill("hold-the-corridor")
    assert advice(drill, patterns, 9, guess=False) is None
    assert advice(drill, patterns, None, guess=False) is None
    assert advice(drill, patterns, 60, guess=True) is None
    hard = advice(drill, patterns, 60, guess=False)
    assert hard is not None
    line, tuned = hard
    assert line.startswith("plainly too hard: <1 % to beat 60; at width ")
    assert line.count("\n") == 0
    assert tuned.chance.chance == pytest.approx(0.5, abs=0.05)
    easy = advice(drill.with_set(["aim.width=80"]), patterns, 5, guess=False)
    assert easy is not None
    assert easy[0].startswith("plainly too easy")
    assert easy[1].value < 80


def test_an_estimate_must_be_clear_of_its_error() -> None:
    assert misfit(Chance(0.015, False, 9, 0.01), guess=False) is None
    assert misfit(Chance(0.015, True, 9, 0.0), guess=False) == "too hard"
    assert misfit(Chance(0.9, True, 9, 0.0), guess=False) == "too easy"
    assert misfit(Chance(0.9, True, 9, 0.0), guess=True) is None


def test_only_certainty_is_shown_as_such() -> None:
    said = [share(value) for value in (0.0, 0.002, 0.5, 0.996, 1.0)]
    assert said == ["0 %", "<1 %", "50 %", ">99 %", "100 %"]
    said = band(Band(1.0, 0.999, 1.0)), band(Band(0.0, 0.0, 0.4))
    assert said == (">99 % (>99 to >99)", "<1 % (<1 to 40)"), "a pattern makes nothing certain"
