"""`pattern`, `chance` and `tune` on the command line."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from tests.cli.run import Run

T4 = stats.t(4)


def held(width: float, bias: float, spread: float) -> float:
    return float(T4.cdf((width / 2 - bias) / spread) - T4.cdf((-width / 2 - bias) / spread))


def test_a_known_pattern_is_the_closed_form(run: Run, home: Path) -> None:
    said = run("chance hold-the-corridor --beat 9 --bias 3 --spread 15 --json")
    assert said.code == 0
    odds = {"chance", "exact", "states", "error", "low", "high"}
    assert set(said.json) == odds | {"typical", "typical_chance"}
    expected = stats.nbinom(3, 1 - held(40, 3, 15)).sf(9)
    assert said.json["chance"] == pytest.approx(expected, abs=1e-9)
    assert said.json["exact"] is True
    assert said.json["error"] == 0
    assert said.json["states"] > 1
    assert not (home / "data").exists()


def test_entries_and_settings_count(run: Run) -> None:
    said = run(
        "chance hold-the-corridor 5 5 4 void 6 undo --beat 3 --bias -3 --spread 12 --json",
        "--set lives=2 --set aim.width=30",
    )
    expected = stats.nbinom(2, 1 - held(30, -3, 12)).sf(1)
    assert said.json["chance"] == pytest.approx(expected, abs=1e-9)


def test_certain_and_lost(run: Run) -> None:
    over = "chance hold-the-corridor 5 4 4 4 --bias 0 --spread 12 --json --beat"
    assert run(over, "0").json["chance"] == 1
    assert run(over, "1").json["chance"] == 0
    assert (
        run("chance miss-total -90 +35 --beat 110 --bias 0 --spread 9 --json").json["chance"] == 0
    )


def test_the_likelihood_and_the_grid(run: Run) -> None:
    words = "chance on-the-number --beat 2 --bias 0 --spread 4 --likelihood normal --json"
    whole, half = run(words).json["chance"], run(words, "--grid 0.5").json["chance"]
    assert whole == pytest.approx(2 * stats.norm.cdf(0.5 / 4) - 1, abs=1e-9)
    assert half == pytest.approx(2 * stats.norm.cdf(0.25 / 4) - 1, abs=1e-9)
    one = "chance miss-total --set balls=1 --beat 10 --bias 0 --spread 15 --json"
    assert run(one).json["chance"] == pytest.approx(held(15, 0, 15), abs=1e-9)
    assert run(one, "--grid 1").json["chance"] == pytest.approx(held(19, 0, 15), abs=1e-9)
    verdict = run("chance hold-the-corridor --beat 3 --bias 0 --spread 15 --grid 1 --json")
    assert verdict.code == 0
    assert "--grid changes nothing" in verdict.err


def test_only_what_is_certain_is_said_to_be(run: Run) -> None:
    """A walk of an endless game is broken off, and a rollout proves nothing."""
    words = "chance hold-the-corridor --bias 0 --spread 15 --beat"
    assert "<1 %" in run(words, "500").out
    assert "100 %" in run(words, "0 5").out
    tiny = "chance hold-the-corridor --bias 0 --spread 1.5e0 --beat 9 --json"
    assert run(tiny).json["chance"] == pytest.approx(
        stats.nbinom(3, 1 - held(40, 0, 1.5)).sf(9), abs=1e-9
    )


def test_a_metre_drill_keeps_the_pattern_in_yards(run: Run) -> None:
    said = run("chance hold-the-corridor --set unit=m --beat 4 --bias 3 --spread 15 --json")
    expected = stats.nbinom(3, 1 - held(40 / 0.9144, 3, 15)).sf(4)
    assert said.json["chance"] == pytest.approx(expected, abs=1e-9)


def test_both_directions_need_both(run: Run) -> None:
    words = "chance four-wedges-in-a-row --beat 5 --bias 1 --spread 5 --json"
    refused = run(words)
    assert refused.code == 2
    assert "--depth-bias, --depth-spread missing" in refused.err
    assert refused.out == ""
    p = held(16, 1, 5) * held(10, -1, 4)
    said = run(words, "--depth-bias -1 --depth-spread 4")
    assert said.json["chance"] == pytest.approx(p**4, abs=1e-9)


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("chance hold-the-corridor", "--beat"),
        ("chance hold-the-corridor --beat many", "expected a number"),
        ("chance hold-the-corridor --beat nan", "expected a number"),
        ("chance hold-the-corridor --beat 1_0", "expected a number"),
        ("chance hold-the-corridor --beat 1e400", "expected a number"),
        ("chance hold-the-corridor --beat 9 --bias 0 --spread 1e-309", "expected a number"),
        ("chance hold-the-corridor --beat 9 --bias inf --spread 9", "--bias 'inf'"),
        ("chance hold-the-corridor --beat 9 --bias 0 --spread -9", "spread above 0"),
        ("chance hold-the-corridor --beat 9 --bias 3", "--spread missing"),
        ("chance hold-the-corridor --beat 9 --likelihood t2", "missing"),
        ("chance hold-the-corridor --beat 9 --bias 3 --spread 0", "spread above 0"),
        ("chance hold-the-corridor --beat 9 --bias x --spread 9", "--bias 'x'"),
        ("chance hold-the-corridor --beat 9 --bias 0 --spread 9 --likelihood t9", "t9"),
        ("chance hold-the-corridor --beat 9 --bias 0 --spread 9 --player Ann", "not both"),
        ("chance hold-the-corridor --beat 9 --bias 0 --spread 9 --depth-bias 1", "one direction"),
        ("chance hold-the-corridor 5 15 --beat 9", "entry 2 ('15')"),
        ("chance hold-the-corridor --beat 9 --player Ann", "no player 'Ann'"),
        ("chance nothing --beat 9", "no drill 'nothing'"),
        ("chance miss-total --beat 9 --grid 0", "--grid 0"),
        ("chance miss-total --beat 9 --grid .001", "--grid .001: expected at least a hundredth"),
        ("chance miss-total --beat 9 --grid 400", "grid"),
        ("tune hold-the-corridor --beat 9", "--chance"),
        ("tune hold-the-corridor --beat 9 --chance 101", "from 1 to 100"),
        ("pattern spoon", "no club 'spoon'"),
        ("pattern driver --player Ann", "no player 'Ann'"),
    ],
)
def test_wrong_input_is_one_line(run: Run, words: str, reason: str) -> None:
    said = run(words)
    assert said.code == 2
    assert reason in said.err
    assert said.err.count("\n") == 1
    assert said.out == ""


def test_a_chance_is_said_as_a_share_or_in_percent(run: Run) -> None:
    words = "tune hold-the-corridor --set lives=1 --beat 2 --bias 0 --spread 15 --json --chance"
    wanted = run(words, ".50").json
    for said in ("0.5", "0,5", "50", "50%", "50,0"):
        assert run(words, said).json == wanted, said


def test_what_there_is_to_beat_is_the_best_where_nothing_else_is_said(run: Run) -> None:
    missing = run("chance hold-the-corridor")
    assert (missing.code, missing.out) == (2, "")
    assert "--beat missing" in missing.err
    run("score hold-the-corridor 5 5 5 4 4 4 --save --player Ann")
    for command in ("chance hold-the-corridor", "tune hold-the-corridor --chance .5"):
        assert run(command, "--json").json == run(command, "--json --beat 3").json
        known = "--json --bias 0 --spread 15"
        assert run(command, known).json == run(command, known, "--beat 3").json
    assert "chance to beat the best, 3 " in run("chance hold-the-corridor").out
    wider = run("chance hold-the-corridor --set aim.width=50")
    assert "Ann has no best on hold-the-corridor as it is set" in wider.err


def test_the_typical_score_stands_beside_a_best_that_is_far(run: Run) -> None:
    for balls in ("5 4 4 4", "5 4 5 4 4", "4 5 4 4", "5 " * 15 + "4 4 4"):
        run(f"score hold-the-corridor {balls} --save --player Ann")
    said = run("chance hold-the-corridor --json --beat 15").json
    assert said["chance"] < 0.1
    assert said["typical"] == 2
    assert said["typical_chance"] == run("chance hold-the-corridor --json --beat 2").json["chance"]
    assert "to beat the typical score, 2 " in run("chance hold-the-corridor").out
    likely = run("chance hold-the-corridor --json --beat 2").json
    assert (likely["typical"], likely["typical_chance"]) == (None, None)


def test_tune(run: Run) -> None:
    said = run("tune hold-the-corridor --beat 9 --chance 0.5 --bias 0 --spread 15 --json")
    assert set(said.json) == {"dial", "value", "chance", "low", "high"}

    def chance(width: int) -> float:
        return float(stats.nbinom(3, 1 - held(width, 0, 15)).sf(9))

    nearest = min(range(10, 101), key=lambda width: abs(chance(width) - 0.5))
    assert (said.json["dial"], said.json["value"]) == ("aim.width", nearest)
    assert said.json["chance"] == pytest.approx(chance(nearest), abs=1e-9)


def misses(bias: float, spread: float, count: int, seed: int) -> str:
    values = bias + spread * np.random.default_rng(seed).standard_normal(count)
    return " ".join(f"{step * 5:+d}" for step in np.rint(values / 5).astype(int).tolist())


def test_a_pattern_from_stored_shots_of_every_game(run: Run) -> None:
    for seed in range(4):
        assert run("score miss-total --player Ann --save", misses(8, 12, 10, seed)).code == 0
    run("score hold-the-corridor --player Ann --save 5 5 6 5 6 6")
    said = run("pattern driver --player ann --json")
    assert said.code == 0
    lateral, depth = said.json
    assert set(lateral) == {
        *("club", "swing", "direction", "shots", "bias", "half_width", "inside"),
        *("half_life", "shape", "counted", "aim", "more"),
    }
    for told in (lateral["counted"], lateral["aim"], lateral["more"]):
        assert set(told) == set(lateral["inside"])
    assert lateral["aim"]["20"]["off"] < -3
    assert lateral["aim"]["20"]["holds"] > lateral["aim"]["20"]["straight"] + 0.03
    assert (lateral["club"], lateral["swing"], lateral["direction"]) == (
        "driver",
        "full",
        "lateral",
    )
    assert (lateral["shots"], depth["shots"], depth["direction"]) == (46, 0, "depth")
    assert lateral["bias"]["low"] < 8 < lateral["bias"]["high"]
    assert lateral["half_width"]["low"] < 12 * 0.967422 < lateral["half_width"]["high"]
    assert set(lateral["inside"]) == {"20", "30", "40", "50", "60"}
    for band in (lateral["bias"], lateral["half_width"], *lateral["inside"].values()):
        assert band["low"] < band["median"] < band["high"]
    shown = run("pattern driver --player Ann").out
    assert "you miss right; 99 in 100 sure" in shown
    tally = lateral["counted"]["20"]
    assert f"counted {tally['inside']} of {tally['of']}; aim " in shown
    assert "a guess so far" in shown


def test_an_unknown_club_names_each_known_one_once(run: Run) -> None:
    run("score miss-total --player Ann --save 5")
    assert run("pattern spoon").err.count("7-iron") == 1


def test_the_players_pattern_moves_the_chance(run: Run) -> None:
    words = "chance hold-the-corridor --beat 9 --json"
    nobody = run(words)
    for seed in range(4):
        run("score miss-total --player Ann --save", misses(0, 6, 10, seed))
        run("score miss-total --player Bo --save", misses(0, 30, 10, seed))
    ann, bo = run(words, "--player Ann"), run(words, "--player Bo")
    assert run(words).json == ann.json  # Without a name it is the owner's.
    assert bo.json["chance"] < nobody.json["chance"] < ann.json["chance"]
    wide = run("tune hold-the-corridor --beat 9 --chance .5 --json --player Bo").json["value"]
    tight = run("tune hold-the-corridor --beat 9 --chance .5 --json --player Ann").json["value"]
    assert tight < wide


def test_depth_pools_round_the_carry_of_the_drill(run: Run) -> None:
    run("score on-the-number --player Ann --save 44 46 43 47 46 44")
    run("score on-the-number --player Ann --save --set aim.carry=80 70 72 71 69")
    by_carry = run("pattern sand-wedge --swing half --player Ann --json")
    shots = {item["direction"]: item["shots"] for item in by_carry.json}
    # Depth speaks of the carry last aimed at, 80.
    assert shots == {"lateral": 0, "depth": 4}


def test_a_stranger_gets_the_guess(run: Run) -> None:
    lateral, depth = run("pattern 7-iron --json").json
    assert (lateral["shots"], depth["shots"]) == (0, 0)
    # 125 yd: halfway between the rows of 110 and 130 and a half, both columns, index 20.
    assert 8 < lateral["half_width"]["median"] < 10
    assert "a guess so far" in run("pattern 7-iron").out


def test_a_known_pattern_touches_no_database_and_loads_no_sql(tmp_path: Path) -> None:
    script = (
        "import sys\n"
        "from drillrunner.cli.main import main\n"
        "code = main('chance hold-the-corridor --beat 9 --bias 3 --spread 15 --json'.split())\n"
        "wrong = {'sqlmodel', 'sqlalchemy', 'alembic', 'sqlite3', 'textual'} & set(sys.modules)\n"
        "sys.exit(f'{code} {sorted(wrong)}' if code or wrong else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_nothing_of_the_odds_before_the_first_paint() -> None:
    script = (
        "import sys\n"
        "import drillrunner.app.app, drillrunner.cli.main\n"
        "sys.exit(str([n for n in sys.modules if n.split('.')[0] == 'numpy' "
        "or n.startswith('drillrunner.odds.')] or ''))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stderr.strip() == ""


def test_known_patterns_of_several_clubs(run: Run) -> None:
    """Three rungs, each a normal spread of 6 about its number: 0.6407 within 5.5 (normal), all
    three at once 0.6407^3 (product rule).
    """
    said = "chance ladder-of-swings --beat 4 --likelihood normal --json"
    one = run(f"{said} --pattern pitching-wedge=0,6").json
    assert one["exact"]
    assert one["chance"] == pytest.approx(0.6407**3, abs=1e-3)
    full = run(f"{said} --pattern pitching-wedge=0,6 --pattern pitching-wedge:full=40,1").json
    assert full["chance"] < 1e-6


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("ladder-of-swings --bias 0 --spread 6", "expected --pattern for each of pitching-wedge:h"),
        ("ladder-of-swings --pattern pitching-wedge:half=0,6", "missing for pitching-wedge:three"),
        ("ladder-of-swings --pattern pitching-wedge=0,6 --pattern driver=0,9", "no ball with it"),
        ("ladder-of-swings --pattern pitching-wedge=0", "expected CLUB=BIAS,SPREAD or"),
        ("ladder-of-swings --pattern pitching-wedge=0,0", "spread"),
        ("ladder-of-swings --pattern pitching-wedge=0,6,0,6", "two numbers"),
        ("hold-the-corridor --pattern driver=0,9 --bias 1", "one or the other"),
    ],
)
def test_a_wrong_known_pattern_is_refused_in_a_line(run: Run, words: str, said: str) -> None:
    refused = run(f"chance {words} --beat 5")
    assert refused.code == 2
    assert said in refused.err
