"""A match as a fold: turns, undo across players, when it is decided, and deciders."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.practice.matches.match import Decision, Entrant, Match, Turn, drawn_by_lot
from drillrunner.rules import Aim, AnyGame, Entry, Kind, Refused, Run, beats
from drillrunner.rules.keypad import read
from tests.rules.bundled import ANSWERS, make

LIVES = make("lives", lives=2)
SHORT = make("lives", lives=2, balls=3)
MISSES = make("miss_total", balls=3)
NUMBER = make("on_the_number", limit=3)

NAMES = ("Ines", "Tobi", "Mara", "Lena", "Olli", "Pia", "Kai", "Ruth")
UNDO, VOID, GIVE_UP = Entry(Kind.UNDO), Entry(Kind.VOID), Entry(Kind.GIVE_UP)


def entrants(game: AnyGame, count: int) -> list[Entrant]:
    return [Entrant(name[0], name, game) for name in NAMES[:count]]


def shot(text: str, game: AnyGame) -> Entry:
    return read(text, game.ask)


def played(match: Match, texts: str) -> Match:
    """Each text by the player whose turn it is."""
    for text in texts.split():
        turn = match.turn
        assert turn is not None, f"nobody's turn at {text}"
        match = match.add(turn.player, shot(text, match.entrants[0].game))
    return match


def scores(match: Match) -> dict[str, object]:
    return {line.entrant.id: line.run.score for line in match.board()}


def test_ball_by_ball_everyone_plays_in_order_and_who_is_out_of_lives_is_passed_over():
    match = played(Match.begin(entrants(LIVES, 3)), "5 4 5 5 4 5")
    assert match.turn == Turn("I"), "Tobi has lost both lives"
    assert [move.player for move in match.moves] == ["I", "T", "M", "I", "T", "M"]
    assert match.decision is None
    match = played(match, "5 4")
    assert [move.player for move in match.moves[6:]] == ["I", "M"]
    assert match.turn == Turn("I")


def test_a_whole_run_each_in_turn():
    match = played(Match.begin(entrants(LIVES, 2), turns="run"), "5 4 6 5 5")
    assert [move.player for move in match.moves] == ["I", "I", "I", "T", "T"]
    assert match.decision == Decision(("T",)), "two are more than one, and Tobi plays on"
    assert match.turn == Turn("T")


def test_more_is_better_is_decided_by_the_ball_that_nobody_left_can_equal():
    match = played(Match.begin(entrants(LIVES, 2)), "5 4 5 4")
    assert match.decision == Decision(("I",))
    assert match.turn == Turn("I"), "the winner may play on"
    assert [line.out for line in match.board()] == [False, True]
    assert played(match, "5 5 4 4").decision == Decision(("I",))
    level = played(Match.begin(entrants(LIVES, 2)), "5 4 4 5 4")
    assert level.decision is None, "Ines is done with one; Tobi has one and a life"
    assert played(level, "5").decision == Decision(("T",))
    assert played(level, "4").decision == Decision(("I", "T")), "equal scores are shared"


def test_less_is_better_is_decided_when_every_running_total_is_past_a_finished_one():
    match = Match.begin(entrants(MISSES, 2), turns="run")
    match = played(match, "+5 -5 0")
    assert match.decision is None
    assert played(match, "-10").decision is None, "ten and no more would be shared"
    assert played(match, "-15").decision == Decision(("I",))
    assert played(match, "-10 0 0").decision == Decision(("I", "T"))


def test_a_run_that_ended_without_a_score_loses_and_two_of_them_have_no_winner():
    match = Match.begin(entrants(NUMBER, 2), turns="run")
    assert played(match, "40 41 42 40 45").decision == Decision(("T",))
    none = played(match, "40 41 42 40 41 42")
    assert none.decision == Decision(())
    assert [line.place for line in none.board()] == [None, None]
    assert none.turn is None


def test_undo_and_void_follow_the_order_of_the_balls_across_players():
    match = played(Match.begin(entrants(LIVES, 3)), "5 4 5")
    match = match.add("I", VOID)
    assert match.runs["M"][0].voided == 1, "the latest ball was Mara's"
    assert match.turn == Turn("M"), "a void ball is played again at once"
    match = match.add("I", VOID)
    assert match.runs["T"][0].voided == 1
    match = match.add("M", UNDO).add("M", UNDO).add("M", UNDO)
    assert scores(match) == {"I": 1, "T": 0, "M": 0}
    assert match.turn == Turn("M"), "her ball was taken back, and Tobi's stands again"
    match = match.add("M", UNDO).add("M", UNDO)
    assert match.turn == Turn("I")
    with pytest.raises(Refused, match="nothing to undo"):
        match.add("I", UNDO)


def test_out_of_turn_and_after_the_end_are_refused_in_words():
    match = Match.begin(entrants(LIVES, 2))
    with pytest.raises(Refused, match="it is Ines's turn"):
        match.add("T", shot("5", LIVES))
    with pytest.raises(Refused, match="the match is over"):
        played(match, "4 4 4 4").add("I", shot("5", LIVES))
    with pytest.raises(Refused, match="not in this match"):
        match.add("M", shot("5", LIVES))
    for count in (1, 9):
        with pytest.raises(Refused, match="2 to 8"):
            Match.begin([Entrant(str(i), str(i), LIVES) for i in range(count)])
    with pytest.raises(Refused, match="twice"):
        Match.begin(entrants(LIVES, 2) + entrants(LIVES, 1))


def test_who_comes_late_plays_from_the_round_that_is_on_and_still_has_every_life():
    match = played(Match.begin(entrants(LIVES, 2)), "5 5 5 5 5").join(Entrant("M", "Mara", LIVES))
    match = played(match, "5 5 5 5 5 5")
    assert [move.player for move in match.moves[6:]] == ["T", "M", "I", "T", "M", "I"]
    assert match.decision is None
    with pytest.raises(Refused, match="already"):
        match.join(Entrant("M", "Mara", LIVES))
    with pytest.raises(Refused, match="settled"):
        played(Match.begin(entrants(LIVES, 2)), "4 4 4 4").join(Entrant("M", "Mara", LIVES))


def test_who_leaves_early_keeps_the_score_and_is_passed_over():
    match = played(Match.begin(entrants(LIVES, 2)), "5 5 5 5").leave("T")
    assert match.decision is None, "Tobi's two stand, and Ines has two"
    assert match.turn == Turn("I")
    assert played(match, "5").decision == Decision(("I",))
    back = played(match, "4").join(Entrant("T", "Tobi", LIVES))
    assert back.turn == Turn("I"), "the round that is on is Ines's fourth ball"
    less = played(Match.begin(entrants(MISSES, 2)), "0 0").leave("T")
    assert played(less, "+5 +5").decision == Decision(("I",)), "an unfinished total is no score"


def test_a_winner_who_leaves_or_gives_up_has_still_won():
    match = played(Match.begin(entrants(LIVES, 2)), "5 4 5 4")
    assert match.leave("I").decision == Decision(("I",))
    assert match.leave("I").turn is None
    assert match.add("I", GIVE_UP).decision == Decision(("I",))


def test_a_decider_goes_ball_by_ball_to_the_first_round_in_which_the_scores_part():
    match = Match.begin(entrants(LIVES, 3), turns="run", tie="decider")
    match = played(match, "5 4 4 5 4 4 4 4")
    assert match.decision is None
    assert match.turn == Turn("I", 1), "Ines and Tobi are level; Mara is out"
    assert [line.out for line in match.board()] == [False, False, True]
    match = played(match, "5 5 4")
    assert match.decision is None, "the round is not over"
    assert match.turn == Turn("T", 1)
    with pytest.raises(Refused, match="settled"):
        match.join(Entrant("L", "Lena", LIVES))
    done = played(match, "5")
    assert done.decision == Decision(("T",), "decider")
    assert done.turn is None
    assert [run.score for run in done.runs["T"]] == [1, 2]
    assert done.add("T", UNDO).turn == Turn("T", 1)
    again = played(match, "4 4 4")
    assert again.turn == Turn("I", 2), "both out of lives and level: another run each"
    assert played(again, "4 5").decision == Decision(("T",), "decider")


def test_a_decider_of_a_game_that_stops_early_and_of_one_without_scores():
    level = played(Match.begin(entrants(NUMBER, 2), tie="decider"), "40 41 42 40 41 42")
    assert level.decision is None, "neither reached the number"
    hit = played(level, "45 40")
    assert hit.decision is None, "one ball each so far, and Tobi's counts too"
    assert played(hit, "45").decision == Decision(("I",), "decider")


def test_who_leaves_or_gives_up_a_decider_loses_it():
    level = played(Match.begin(entrants(LIVES, 2), tie="decider"), "4 4 4 4")
    assert level.turn == Turn("I", 1)
    assert played(level.leave("I"), "4").decision == Decision(("T",), "decider")
    started = played(level, "5 5")
    gone = started.add("T", GIVE_UP)
    assert played(gone, "4").decision == Decision(("I",), "decider")
    assert level.leave("I").leave("T").decision == Decision(("I", "T")), "nobody to play it: shared"


def test_the_ball_in_between_belongs_to_the_players_own_next_turn():
    people = [Entrant(name[0], name, NUMBER, "driver") for name in NAMES[:2]]
    match = Match.begin(people).add("I", shot("40", NUMBER)).add("T", shot("41", NUMBER))
    with pytest.raises(Refused, match="ball in between"):
        match.add("I", shot("42", NUMBER))
    match = match.add("I", Entry(Kind.BETWEEN))
    assert match.turn == Turn("I")
    assert match.add("I", shot("45", NUMBER)).runs["I"][0].finished


def test_an_order_drawn_by_lot_is_everyone_once_and_the_same_for_a_seed():
    assert sorted(drawn_by_lot(NAMES, 4)) == sorted(NAMES)
    assert drawn_by_lot(NAMES, 4) == drawn_by_lot(NAMES, 4)
    assert len({drawn_by_lot(NAMES, seed) for seed in range(20)}) > 10


# --------------------------------------------------------------- driven by Hypothesis

GAMES = (
    *(LIVES, SHORT, MISSES, NUMBER),
    make("holes", costs=[[25, 25, 30, 30], [125, 25, 30, 60]]),
    make("call_the_carry", Aim(), balls=3),
    make("hole_out", times=2),
    make("leave", times=1),
    make("lives", grid="1", asks="strokes", lives=2, within=2),
)


@st.composite
def stories(draw: st.DrawFn) -> tuple[list[Entrant], str, str, list[tuple[str, int]]]:
    game = draw(st.sampled_from(GAMES))
    people = entrants(game, draw(st.integers(2, 8)))
    acts = st.sampled_from(
        ("shot",) * 8 + ("undo", "undo", "void", "note", "give", "leave", "join")
    )
    story = draw(st.lists(st.tuples(acts, st.integers(0, 7)), max_size=60))
    turns = draw(st.sampled_from(("ball", "run")))
    return people, turns, draw(st.sampled_from(("shared", "decider"))), story


def act(match: Match, what: str, pick: int, game: AnyGame) -> Match:
    """One act, or the same match where it is refused."""
    player = match.entrants[pick % len(match.entrants)].id
    try:
        if what == "leave":
            return match.leave(player)
        if what == "join":
            late = Entrant(f"late{pick}", f"Late {pick}", game)
            return match.join(match.entrant(player) if player in match.away else late)
        if what == "shot":
            if match.turn is None:
                return match
            # The run of a decider is there from its first ball.
            begun = match.runs[match.turn.player][match.turn.lap :]
            ask = begun[0].ask if begun else game.ask
            entry = read(ANSWERS[ask.asks][pick % 5], ask)
            return match.add(match.turn.player, entry)
        others = {"undo": UNDO, "void": VOID, "give": GIVE_UP, "note": Entry(Kind.NOTE, "wind")}
        return match.add(player, others[what])
    except Refused:
        return match


@settings(max_examples=250)
@given(stories())
def test_a_match_agrees_with_a_plain_list_and_folds_again_from_its_record(story):
    people, turns, tie, acts = story
    game = people[0].game
    match = Match.begin(people, turns, tie)
    live: list[int] = []  # the plain model: the order numbers of the entries in force
    for what, pick in acts:
        before, match = match, act(match, what, pick, game)
        if match is before:
            continue
        number, last = len(match.moves) - 1, match.moves[-1]
        if what == "undo":
            undone = match.moves[live.pop()]
            assert (undone.player, undone.lap) == (last.player, last.lap)
        elif isinstance(last.what, Entry):
            live.append(number)
    assert Match.fold(people, match.moves, turns, tie) == match
    for player, runs in match.runs.items():
        for lap, run in enumerate(runs):
            own = [m.what for m in match.moves if (m.player, m.lap) == (player, lap)]
            entries = [what for what in own if isinstance(what, Entry)]
            assert Run.fold(game, entries) == run
            kept = [m for m in live if (match.moves[m].player, match.moves[m].lap) == (player, lap)]
            assert sum(run.live) == len(kept)
    for _ in live:
        match = match.add("", UNDO)
    assert all(run.state == game.start() for runs in match.runs.values() for run in runs)


@settings(max_examples=150)
@given(stories(), st.integers(0, 2**16))
def test_once_decided_no_further_ball_changes_who_won(story, seed):
    people, turns, tie, acts = story
    game = people[0].game
    match = Match.begin(people, turns, tie)
    for what, pick in acts:
        match = act(match, what, pick, game)
    decided = match.decision
    for n in range(120):
        if match.turn is None:
            break
        match = act(match, "shot", seed // (n + 1), game)
        if decided is None:
            decided = match.decision
        else:
            assert match.decision == decided
    assert match.turn is not None or match.decision is not None


@settings(max_examples=60)
@given(st.lists(st.integers(0, 1), max_size=8), st.sampled_from(("ball", "run")))
def test_decided_means_that_every_way_to_go_on_has_the_same_winner_and_undecided_that_not(
    balls, turns
):
    """Against every completion of a small game, played out. SHORT ends within six balls each."""
    match = Match.begin(entrants(SHORT, 2), turns)
    for ball in balls:
        if match.turn is not None:
            match = match.add(match.turn.player, shot("45"[ball], SHORT))

    def winners(m: Match) -> set[frozenset[str]]:
        if m.turn is None:
            final = scores(m)
            return {
                frozenset(
                    p
                    for p, s in final.items()
                    if not any(beats("higher", o, s) for o in final.values())
                )
            }
        texts = ("4", "5")
        return set().union(*(winners(m.add(m.turn.player, shot(t, SHORT))) for t in texts))

    ways = winners(match)
    if match.decision is not None:
        assert ways == {frozenset(match.decision.winners)}
    elif len(ways) == 1:
        # The promise alone does not know that this game has a last ball.
        assert any(not line.run.over for line in match.board())
