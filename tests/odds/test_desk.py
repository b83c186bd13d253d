"""The facade that screens and commands ask: pictures of a player, and the chance of a run."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import bundled, load
from drillrunner.odds.chance import Patterns, chance
from drillrunner.odds.desk import (
    Picture,
    Player,
    ask,
    picture_of,
    player_for,
    stranger,
)
from drillrunner.odds.drift import HALF_LIFE
from drillrunner.odds.prior import guess
from drillrunner.odds.shape import Plausible
from drillrunner.rules import Aim, Run
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Entry, Kind
from drillrunner.store.store import Store
from tests.odds.balls import typed
from tests.rules.bundled import make

D = Decimal


def run_of(game_id: str, *texts: str) -> Run:
    game = make(game_id)
    return Run.fold(game, [read(text, game.ask) for text in texts])


def test_the_chance_of_a_run() -> None:
    run = run_of("lives", "5", "4", "5")
    picture = Picture(typed(run.game, "5", "4", "5", "6", "+10", "-5"), Player(200.0))
    answer = ask(run.game, run, picture, 6)
    assert answer is not None
    assert answer.chance == chance(run.game, run.state, picture.patterns(run.game), 6).chance
    assert (answer.exact, answer.error, answer.shots, answer.within) == (True, 0.0, 6, None)
    assert answer.if_in is not None
    assert answer.if_out is not None
    assert answer.if_out < answer.chance < answer.if_in


def test_without_a_best_there_is_nothing_to_ask() -> None:
    run = run_of("lives")
    assert ask(run.game, run, stranger("driver"), None) is None


def test_a_run_that_is_over() -> None:
    lost, won = run_of("lives", "4", "4", "4"), run_of("lives", "5", "4", "4", "4")
    for run, expected in ((lost, 0.0), (won, 1.0), (won.add(Entry(Kind.UNDO)), None)):
        answer = ask(run.game, run, stranger("driver"), 0)
        assert answer is not None
        assert expected is None or (answer.chance, answer.if_in) == (expected, None)
    certain = ask(won.game, won.add(Entry(Kind.UNDO)), stranger("driver"), 0)
    assert certain is not None
    assert certain.chance == 1.0
    given_up = won.add(Entry(Kind.UNDO)).add(Entry(Kind.GIVE_UP))
    answer = ask(given_up.game, given_up, stranger("driver"), 0)
    assert answer is not None
    assert answer.chance == 0.0


def test_an_impatient_answer_is_marked_as_an_estimate() -> None:
    run = run_of("miss_total", "+15")
    exact = ask(run.game, run, stranger("driver"), 110)
    rolled = ask(run.game, run, stranger("driver"), 110, balls=100)
    assert exact is not None
    assert rolled is not None
    assert exact.exact
    assert exact.within is not None
    assert not rolled.exact
    assert abs(rolled.chance - exact.chance) < 4.5 * rolled.error
    assert rolled == ask(run.game, run, stranger("driver"), 110, balls=100)


def test_one_ball_later_is_the_same_as_afresh() -> None:
    balls = typed(make("miss_total"), *("+15", "-5", "0", "+10", "+20", "-10", "5") * 6)
    before = Picture(balls[1:], Player(200.0), HALF_LIFE)
    assert before.lateral.shots == 41
    later, afresh = before.after(balls[0]), Picture(balls, Player(200.0), HALF_LIFE)
    assert list(later.records) == list(afresh.records)
    assert later.lateral.shots == 42
    assert tuple(later.lateral.bias) == pytest.approx(tuple(afresh.lateral.bias), abs=0.05)
    assert later.depth.shots == 0


def test_where_the_distance_comes_from() -> None:
    carry, none = Aim(carry=D(60)), Aim()
    assert player_for(carry, "yd", 200, stock=55) == Player(60.0, None, None, 60.0)
    assert player_for(carry, "m", 200).distance == pytest.approx(60 / 0.9144)
    assert player_for(none, "yd", 200, stock=55).distance == 55
    assert player_for(none, "yd", 200).distance == 200
    assert player_for(none, "yd", 200, index=D("6.4"), column="women") == Player(200, 6.4, "women")
    assert stranger("putter").player.distance == 90
    assert stranger("driver").lateral.prior == guess(200)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store.open(tmp_path / "odds.db")


def played(store: Store, player: str, drill_id: str, *texts: str) -> None:
    drill = load([bundled("games")]).drill(drill_id)
    playing = store.begin(player, drill, tally=True)
    for text in texts:
        playing.append(read(text, playing.run.game.ask))
    playing.append(Entry(Kind.GIVE_UP))


def test_a_stored_players_picture(store: Store) -> None:
    ann = store.add_player("Ann", index=D("4.5"))
    played(store, ann.id, "hold-the-corridor", "5", "4", "void", "6", "undo", "5")
    played(store, ann.id, "miss-total", "+15", "-5")
    picture = picture_of(store, ann, "driver", "full")
    # What was voided or undone does not count.
    assert picture.lateral.shots == 4
    assert picture.player == Player(200.0, 4.5, None, None)
    assert picture_of(store, None, "driver", "full") == stranger("driver")
    store.change_player(ann.id, column="women")
    club = store.change_club(ann.id, "driver", usual_carry=D(180), unit="yd")
    assert any(own.id == "driver" for own in club)
    ann = store.player("ann") or ann
    assert picture_of(store, ann, "driver", "full").player == Player(180.0, 4.5, "women", None)


def test_depth_follows_the_aim_or_the_carry_last_aimed_at(store: Store) -> None:
    ann = store.add_player("Ann")
    played(store, ann.id, "on-the-number", "44", "47")
    picture = picture_of(store, ann, "sand-wedge", "half")
    assert picture.player.carry == 45
    assert picture.depth.shots == 2
    far = picture_of(store, ann, "sand-wedge", "half", Aim(carry=D(70)))
    assert far.depth.shots == 0
    near = picture_of(store, ann, "sand-wedge", "half", Aim(carry=D(44)), "m")
    assert near.player.carry == pytest.approx(44 / 0.9144)
    assert near.depth.shots == 2
    assert isinstance(near, Picture)


def test_balls_out_of_a_window_with_the_side_not_seen_are_misses_all_the_same() -> None:
    """Without them a player who types `5` and `0` alone would seem to hold nearly every ball."""
    window = Aim(carry=D(60), width=D(16), depth=D(10))
    game = make("lives", window, lives=1)
    balls = typed(game, *("5", "0", "0", "5", "0") * 12)
    picture = Picture(balls, Player(60.0, carry=60.0))
    # At first sight in or out is one Bernoulli trial: 24 of 60 are in. Fading and the guess move
    # it a little; Wilson 95 % for 24 of 60: 0.286 to 0.526.
    held = chance(game, game.start(), picture.patterns(game), 0).chance
    assert 0.286 < held < 0.526
    assert (picture.lateral.shots, picture.depth.shots) == (60, 60)
    later = Picture(balls[1:], Player(60.0, carry=60.0)).after(balls[0])
    again = chance(game, game.start(), later.patterns(game), 0).chance
    assert again == pytest.approx(held, abs=0.01)


def test_what_is_known_of_one_direction_tells_the_other_what_went_wrong() -> None:
    """Never wide, so the balls that got away were short or long."""
    game = make("lives", Aim(carry=D(60), width=D(40), depth=D(10)))
    straight = typed(make("miss_total"), *("0", "-2", "+1", "+3", "-1") * 12)
    seen = typed(game, *("5", "0", "0") * 15)
    picture = Picture([*seen, *straight], Player(60.0, carry=60.0))
    assert picture.lateral.inside(40).median > 0.97
    assert picture.depth.inside(10).low < 1 / 3 < picture.depth.inside(10).high


def test_a_direction_without_a_ball_meets_one_with_many() -> None:
    """A window asks both: the one is a guess of more laws than the other is learnt in."""
    game = make("lives", Aim(carry=D(60), width=D(40), depth=D(20)), lives=1)
    picture = Picture(
        typed(make("miss_total"), *("+5", "-5", "0", "+10") * 8), Player(60.0, carry=60.0)
    )
    assert (picture.lateral.shots, picture.depth.shots) == (32, 0)
    found = chance(game, game.start(), picture.patterns(game), 0)
    held = picture.lateral.held(40) * picture.depth.held(20)
    assert found.chance == pytest.approx(held, abs=0.02)


def test_a_chance_is_as_sure_as_its_pattern() -> None:
    """One life, one ball: the chance to hold at least one is that of holding the corridor."""
    game = make("lives", lives=1)
    picture = Picture(typed(game, *("5", "4", "5", "5", "6") * 6), Player(200.0))
    found = chance(game, game.start(), picture.patterns(game), 0)
    stated = picture.lateral.inside(40)
    assert found.sure is not None
    assert tuple(found.sure) == pytest.approx(tuple(stated), abs=0.03)
    known = Patterns(Plausible.known(0.0, 12.0))
    assert chance(game, game.start(), known, 0).sure is None
