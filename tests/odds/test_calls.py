"""How well a carry is called: learnt from calls, and as sure as it says."""

from __future__ import annotations

import random
from decimal import Decimal

from drillrunner.odds.calls import change, sizes
from drillrunner.odds.chance import score_distribution
from drillrunner.odds.desk import Bag, Picture, player_for
from drillrunner.rules import Aim, AnyGame, Ask, Ball, Run, Station
from drillrunner.rules.keypad import read
from tests.rules.bundled import game_class

D = Decimal
CALL = Ask("call", Aim(), D(1), direction="depth", club="gap-wedge")


def called(rng: random.Random, bias: float, spread: float, count: int) -> list[Ball]:
    """Balls of a player from outside the model: now and then one that they did not feel at all."""
    balls = []
    for _ in range(count):
        carry = rng.gauss(80, 7)
        felt = carry + bias + rng.gauss(0, spread) if rng.random() > 0.1 else 80.0
        shot = read(f"{round(felt)}:{round(carry)}", CALL).shot
        assert shot is not None
        balls.append(Ball(shot, CALL))
    return balls


def calls(balls: int) -> AnyGame:
    """The game at one club, without a carry to aim at."""
    game = game_class("call_the_carry")
    station = Station(Aim(), "call", D(1), "gap-wedge")
    return game(game.Settings(balls=balls), Aim(), D(1), "yd", [station])


def stranger_of_calls(balls: list[Ball]) -> Picture:
    return Picture(balls, player_for(Aim(), "yd", 80.0, calls=True), None)


def test_a_player_who_calls_long_is_found_out() -> None:
    picture = stranger_of_calls(called(random.Random(3), 5.0, 2.5, 60))
    # Called five too far, so the carries are short of the calls.
    assert picture.depth.bias.low < -4.0 < picture.depth.bias.high + 1.5
    assert picture.depth.half_width.median < 5.0
    assert picture.lateral.shots == 0


def test_the_interval_holds_the_truth_about_as_often_as_it_says() -> None:
    """24 players, 15 calls each: of the 80 % intervals 19.2 hold, sd 2.0; four of those either way
    are allowed."""
    held = 0
    for seed in range(24):
        rng = random.Random(seed)
        bias, spread = rng.gauss(0, 4), rng.uniform(2, 7)
        band = stranger_of_calls(called(rng, bias, spread, 15)).depth.bias
        # A tenth is not felt, and called at 80 whatever it is: no bias of its own.
        held += band.low <= -0.9 * bias <= band.high
    assert 11 <= held <= 24


def test_totals_of_known_callers_follow_the_folded_normal() -> None:
    """The mean of |N(0, s)| is s sqrt(2/pi) (Leone, Nelson & Nottingham 1961, Technometrics 3;
    title from memory)."""
    from drillrunner.odds.shape import Plausible
    from drillrunner.odds.weigh import Patterns

    game = calls(2)
    found = score_distribution(game, Patterns(depth=Plausible.known(0.0, 5.0, "normal")))
    mean = sum(float(score or 0) * chance for score, chance in found.items())
    assert abs(mean - 2 * 5.0 * 0.797885) < 0.05


def test_a_bag_follows_calls_ball_by_ball() -> None:
    bag = Bag(lambda ask: stranger_of_calls([]))
    run = Run.begin(calls(3))
    run = run.add(read("64:61", run.ask))
    bag.picture(run.ask).depth  # noqa: B018 (worked out before the ball)
    assert bag.after(run.balls[-1]).picture(run.ask).depth.shots == 1


def test_whether_calls_get_nearer_is_said_no_surer_than_it_is() -> None:
    rng = random.Random(5)
    wide = sizes(called(rng, 0.0, 8.0, 30), "yd")
    near = sizes(called(rng, 0.0, 1.5, 30), "yd")
    assert (change(near + wide, "yd") or "").startswith("nearer than before: ")
    assert (change(wide + near, "yd") or "").startswith("further off than before: ")
    assert change(near[:7], "yd") is None
    # Of players who do not change it is said of one in ten or so: 40 of them, at most 10.
    said = [change(sizes(called(random.Random(s), 2, 4, 20), "yd"), "yd") or "" for s in range(40)]
    assert sum(not words.startswith("no change") for words in said) <= 10
