"""A run is its entries: undo, void, notes, giving up, balls in between, and the end."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.rules import AnyGame
from drillrunner.rules.conformance import TYPED
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Entry, Kind, Refused, Run
from tests.rules.bundled import make, variants

UNDO, VOID, NOTE, GIVE_UP, BETWEEN = (
    Entry(kind) for kind in (Kind.UNDO, Kind.VOID, Kind.NOTE, Kind.GIVE_UP, Kind.BETWEEN)
)
GAMES = variants()


def play(game: AnyGame, *typed: str | Entry, between: str | None = None) -> Run:
    entries = [read(t, game.ask) if isinstance(t, str) else t for t in typed]
    return Run.fold(game, entries, between)


def standing(run: Run) -> tuple[Any, ...]:
    """All that undo must bring back."""
    return run.state, run.given_up, run.counts, run.voids, run.live


def model(game: AnyGame, entries: Iterable[Entry]) -> tuple[int, list[Entry], Any, bool]:
    """The same by plain lists: undo pops the list, void pops the balls that are left in it."""
    live: list[Entry] = []
    for entry in entries:
        if entry.kind is Kind.UNDO:
            live.pop()
        else:
            live.append(entry)
    balls: list[Entry] = []
    for entry in live:
        if entry.shot:
            balls.append(entry)
        elif entry.kind is Kind.VOID:
            balls.pop()
    state = game.start()
    for ball in balls:
        state = game.after(state, ball.shot)
    return len(live), balls, state, any(entry.kind is Kind.GIVE_UP for entry in live)


def possible(game: AnyGame) -> list[Entry]:
    texts: list[Entry] = []
    for text in TYPED:
        try:
            texts.append(read(text, game.ask))
        except Refused:
            continue
    return texts


class TestScores:
    """The three games of the bundle, played by hand."""

    def test_lives(self) -> None:
        run = play(make("lives"), "5", "8", "4", "+15", "+25", "5")
        assert (run.score, run.over, run.ended) == (4, False, None)
        run = run.add(read("0", run.game.ask))
        assert (run.score, run.finished, run.ended) == (4, True, "out of lives")

    def test_lives_with_a_small_bucket(self) -> None:
        run = play(make("lives", balls=2), "5", "5")
        assert (run.score, run.finished, run.ended) == (2, True, "out of balls")
        last = play(make("lives", balls=3, lives=2), "5", "4", "6")
        assert last.ended == "out of lives"

    def test_miss_total(self) -> None:
        run = play(make("miss_total", balls=4), "-15", "+35", "0", "2.5")
        assert (run.score, run.ended) == (Decimal("52.5"), "all balls played")

    def test_miss_total_with_a_cap(self) -> None:
        run = play(make("miss_total", balls=4, cap=Decimal(40)), "-15", "+", "+60", "lost")
        assert run.score == 15 + 40 + 40 + 40

    def test_on_the_number(self) -> None:
        run = play(make("on_the_number"), "64", "44", "45")
        assert (run.score, run.finished, run.ended) == (3, True, "on the number")
        missed = play(make("on_the_number", limit=2), "64", "44")
        assert (missed.score, missed.finished, missed.ended) == (None, True, "out of balls")


class TestUndoAndVoid:
    """What they act on, and what they leave alone."""

    def test_undo_takes_the_latest_live_entry_of_any_kind(self) -> None:
        run = play(make("lives"), "5", NOTE, VOID, "4", UNDO, UNDO, UNDO)
        assert run.live == (True, False, False, False, False, False, False)
        assert (run.score, run.counted, run.undone) == (1, 1, 3)

    def test_undoing_a_void_gives_the_ball_back(self) -> None:
        run = play(make("lives"), "5", "4", VOID)
        assert (run.counted, run.voided, run.state.lives) == (1, 1, 3)
        run = run.add(UNDO)
        assert (run.counted, run.voided, run.state.lives) == (2, 0, 2)

    def test_a_second_void_marks_the_ball_before(self) -> None:
        run = play(make("lives"), "5", "4", "5", VOID, NOTE, VOID)
        assert run.voids == (False, True, True, False, False, False)
        assert run.counts == (True, False, False, False, False, False)

    def test_void_looks_past_a_new_ball_to_none(self) -> None:
        run = play(make("lives"), "5", VOID, "4", VOID)
        assert run.voids == (True, False, True, False)
        with pytest.raises(Refused, match="nothing to void"):
            run.add(VOID)

    @pytest.mark.parametrize(("entry", "word"), [(UNDO, "undo"), (VOID, "void")])
    def test_with_nothing_to_act_on_both_are_refused(self, entry: Entry, word: str) -> None:
        with pytest.raises(Refused, match=f"nothing to {word}"):
            play(make("lives"), entry)
        with pytest.raises(Refused, match=f"nothing to {word}"):
            play(make("lives"), "5", UNDO, entry)


class TestTheEnd:
    """After the end balls are left over; undo, void and notes still act."""

    def test_balls_are_refused_and_notes_taken(self) -> None:
        run = play(make("lives", lives=1), "5", "4")
        for entry in (read("5", run.game.ask), GIVE_UP, BETWEEN):
            with pytest.raises(Refused):
                run.add(entry)
        assert run.add(NOTE).finished

    @pytest.mark.parametrize("entry", [UNDO, VOID])
    def test_undo_and_void_reopen_the_run(self, entry: Entry) -> None:
        run = play(make("lives", lives=1), "5", "4", entry)
        assert (run.over, run.ended, run.score) == (False, None, 1)
        assert run.add(read("5", run.game.ask)).score == 2

    def test_giving_up_ends_without_finishing_and_can_be_undone(self) -> None:
        run = play(make("lives"), "5", GIVE_UP)
        assert (run.over, run.finished, run.ended, run.score) == (True, False, "given up", 1)
        assert not run.add(UNDO).over
        voided = run.add(VOID)
        assert (voided.over, voided.score) == (True, 0)

    def test_a_run_given_up_at_once_is_over(self) -> None:
        assert play(make("lives"), GIVE_UP).over


class TestBetween:
    """A ball with another club between the counted ones."""

    def due(self, *typed: str | Entry) -> bool:
        return play(make("on_the_number"), *typed, between="driver").between_due

    def test_when_it_is_due(self) -> None:
        assert not self.due()
        assert self.due("64")
        assert not self.due("64", BETWEEN)
        assert self.due("64", BETWEEN, "44")
        assert not self.due("45")  # on the number: over
        assert self.due("64", NOTE)
        assert self.due("64", BETWEEN, UNDO)
        assert not self.due("64", VOID)
        assert not self.due("64", BETWEEN, VOID)
        assert self.due("64", VOID, UNDO)
        assert not self.due("64", GIVE_UP)

    def test_it_has_no_outcome(self) -> None:
        run = play(make("on_the_number"), "64", BETWEEN, "44", between="driver")
        assert (run.score, run.counted, len(run.shots)) == (2, 2, 2)
        assert run.counts == (True, False, True)

    def test_void_looks_past_it_and_undo_does_not(self) -> None:
        run = play(make("on_the_number"), "64", BETWEEN, between="driver")
        assert run.add(VOID).voids == (True, False, False)
        assert run.add(UNDO).live == (True, False, False)

    def test_it_is_asked_for_before_the_next_ball_and_at_no_other_time(self) -> None:
        with pytest.raises(Refused, match="first the ball in between: driver"):
            play(make("on_the_number"), "64", "44", between="driver")
        with pytest.raises(Refused, match="no ball in between"):
            play(make("on_the_number"), BETWEEN, between="driver")
        with pytest.raises(Refused, match="no ball in between"):
            play(make("on_the_number"), "64", BETWEEN)

    def test_a_tally_never_has_one_due(self) -> None:
        game = make("on_the_number")
        shots = [read(text, game.ask) for text in ("64", "44")]
        assert Run.fold(game, shots, between="driver", tally=True).counted == 2


def test_a_shot_needs_a_reading() -> None:
    with pytest.raises(Refused, match="without a reading"):
        play(make("lives"), Entry(Kind.SHOT, "5"))


@settings(max_examples=150)
@given(st.data())
def test_every_step_agrees_with_a_refold_and_with_plain_lists(data: st.DataObject) -> None:
    game = data.draw(st.sampled_from(GAMES))
    between = data.draw(st.sampled_from([None, "driver"]))
    kinds = [*possible(game), UNDO, UNDO, VOID, NOTE, BETWEEN, BETWEEN, GIVE_UP]
    run = Run.begin(game, between)
    before: list[Run] = []  # the run as each live entry found it
    for entry in data.draw(st.lists(st.sampled_from(kinds), max_size=40)):
        try:
            longer = run.add(entry)
        except Refused as refused:
            assert len(str(refused).splitlines()) == 1  # noqa: PT017
            continue
        assert longer == Run.fold(game, longer.entries, between)
        live, balls, state, given_up = model(game, longer.entries)
        assert sum(longer.live) == live
        assert longer.shots == tuple(ball.shot for ball in balls)
        assert (longer.state, longer.given_up) == (state, given_up)
        assert longer.counted + longer.voided <= sum(e.kind is Kind.SHOT for e in longer.entries)
        assert not any(c and v for c, v in zip(longer.counts, longer.voids, strict=True))
        if entry.kind is Kind.UNDO:
            was = before.pop()
            kept = len(was.entries)
            assert standing(was)[:2] == standing(longer)[:2]
            for now, then in zip(standing(longer)[2:], standing(was)[2:], strict=True):
                assert now == then + (False,) * (len(longer.entries) - kept)
        else:
            before.append(run)
        run = longer
    for was in reversed(before):
        run = run.add(UNDO)
        assert (run.state, run.given_up, run.shots) == (was.state, was.given_up, was.shots)
    assert run.state == game.start()


def test_a_long_run_folds_in_time_that_grows_with_its_length() -> None:
    game = make("lives")
    calls = 0

    class Counting(type(game)):  # type: ignore[misc]
        def after(self, state: Any, shot: Any) -> Any:
            nonlocal calls
            calls += 1
            return super().after(state, shot)

    counting = Counting(game.settings, game.aim, game.grid)
    run = play(counting, *["5"] * 300)
    assert calls == 300
    run.add(UNDO)
    assert calls == 300 + 299


@pytest.mark.parametrize("stem", ["lives", "in_a_row", "miss_total", "on_the_number"])
def test_a_game_is_heard_once_a_ball(stem: str) -> None:
    """Whatever a screen and a record ask of a run, they ask of what it kept."""
    game, asked = make(stem), []

    def counting(name: str) -> None:
        heard = getattr(game, name)
        setattr(game, name, lambda *given: asked.append(name) or heard(*given))

    for name in ("start", "after", "over", "score", "ended", "readout", "station", "asked"):
        counting(name)
    run = Run.begin(game)
    asked.clear()
    text = {"verdict": "5", "miss": "+5", "carry": "52"}[run.ask.asks]
    run = run.add(read(text, run.ask))
    for _ in range(3):
        run.over, run.ended, run.score, run.finished, run.state, run.shots  # noqa: B018
        run.ask, run.now.readout, run.opening.readout, run.between_due  # noqa: B018
    assert len(asked) <= 10
    assert [asked.count(name) for name in ("after", "readout", "score", "station")] == [1, 1, 1, 1]
