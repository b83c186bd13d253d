"""Matches at the keys and with the mouse: set up, played, decided, left and gone on with."""

from __future__ import annotations

import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from decimal import Decimal
from unittest.mock import Mock

import pytest
from textual.pilot import Pilot

from drillrunner.app import match_start
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.fields import about_of, bad_about
from drillrunner.app.screens import match_fair
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.app.screens.match_fair import FairScreen
from drillrunner.app.screens.match_result import MatchResultScreen
from drillrunner.app.screens.match_setup import MatchSetupScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.run import RunScreen
from drillrunner.app.screens.standings import StandingsScreen, bad_dates
from drillrunner.app.widgets.board import Board, LargeName, drawn
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.lists import BlockList
from drillrunner.app.widgets.target import TargetWidget
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.matches.challenge import read, write
from drillrunner.practice.matches.record import Setup
from drillrunner.rules import Run
from drillrunner.rules.keypad import read as typed
from drillrunner.services.match_desk import MatchDesk
from drillrunner.store.errors import Busy
from drillrunner.store.store import Store
from tests.app.conftest import Clock, at_each, played, ready, shown
from tests.app.screens.test_play import MakeApp, clicks, keys, line

DRILL = "hold-the-corridor"
EIGHT = ("Ines", "Tobi", "Mara", "Lena", "Ole", "Pia", "Uwe", "Åsa")


def match(make_app: MakeApp, players: int, **how: object) -> DrillrunnerApp:
    names = EIGHT[:players]
    return make_app(player=names[0], drill=DRILL, match=Setup(names, **how))  # type: ignore[arg-type]


async def once_more(pilot: Pilot[None], players: int) -> None:
    """The same match from home, as it was begun."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    assert isinstance(app.screen, HomeScreen)
    match_start.start(app, app.drills.catalogue.drill(DRILL), Setup(EIGHT[:players]))
    await ready(pilot)


async def settled(pilot: Pilot[None]) -> None:
    """Wait for what is being worked out."""
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


def up(app: DrillrunnerApp) -> str:
    """Whose turn it is, as it stands in large letters."""
    return app.screen.query_one(LargeName).text


def board(app: DrillrunnerApp) -> list[str]:
    """The lines of the board."""
    lines = app.screen.query_one(Board).plain.split("\n")
    return [" ".join(line.split()) for line in lines]


@pytest.mark.usefixtures("counted")
async def test_two_of_them_ball_by_ball_to_the_end(make_app: MakeApp, store: Store) -> None:
    app = match(make_app, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, MatchPlayScreen)
        assert up(app) == "Ines"
        assert "Stay in your bay" in shown(app)
        await keys(pilot, "5")
        assert up(app) == "Tobi"
        assert line(app, "last") == "last: Ines: in"
        assert "lives left 3 ●●●" in line(app, "lines")
        await keys(pilot, "4")
        await settled(pilot)
        first, second = board(app)
        assert first.startswith("▶ Ines")
        assert "1 lives left ●●●" in first
        assert "0 lives left ●●○" in second
        chances = app.screen.chances
        assert chances is not None
        assert sum(chances.values()) == pytest.approx(1.0)
        assert "to win" in line(app, "chance")
        await keys(pilot, "*")
        assert up(app) == "Tobi"
        assert line(app, "last") == "last: Tobi: undone: left"
        await keys(pilot, "4444")
        assert up(app) == "Tobi"
        await keys(pilot, "4")
        assert isinstance(app.screen, MatchPlayScreen)
        assert "★ Ines wins" in line(app, "say")
        assert "wins" in board(app)[0]
        assert "✕ Tobi" in board(app)[1]
        await keys(pilot, "4")
        assert isinstance(app.screen, MatchResultScreen)
        assert up(app) == "Ines"
        assert "your first score" in shown(app)
        await keys(pilot, "*")
        assert isinstance(app.screen, MatchPlayScreen)
        await keys(pilot, "4E")
        assert isinstance(app.screen, MatchPlayScreen), "Enter plays the same match again"
        assert app.screen.desk.match.moves == ()
        assert [type(s) for s in app.screen_stack] == [HomeScreen, MatchPlayScreen]
    runs = store.history(DRILL)
    assert {run.player: run.score for run in runs} == {"Ines": 1, "Tobi": 0}
    assert all(run.finished and run.match_id for run in runs)
    assert len(store.bests(drill_id=DRILL)) == 2, "each run counts for its player's own best"


async def test_the_board_names_all_eight(make_app: MakeApp) -> None:
    sizes = [(80, 24), (160, 50)]
    app = match(make_app, 8, turns="run")
    async with app.run_test(size=sizes[0]) as pilot:
        await ready(pilot)
        for turn, order in enumerate((sizes, sizes[::-1])):
            async for _ in at_each(pilot, order):
                assert up(app) == EIGHT[turn]
                all_on_the_board(app)
            await clicks(pilot, "444")


@pytest.mark.usefixtures("counted")
@pytest.mark.parametrize(
    ("players", "size"),
    [
        *((2, (40, 24)), (4, (40, 24)), (8, (40, 24))),
        *((4, (80, 24)), (2, (88, 19)), (2, (43, 40)), (8, (43, 40))),
    ],
)
async def test_the_target_has_room_in_a_small_window(
    make_app: MakeApp, players: int, size: tuple[int, int]
) -> None:
    app = match(make_app, players)
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        await pilot.press("5", "4")
        await ready(pilot)
        assert "to win" in line(app, "chance")
        target = app.screen.query_one(TargetWidget)
        assert target.region.height >= 3
        # All of it is in sight, above the keys or beside them, and so is who is up.
        keypad = app.screen.query_one(Keypad).region
        assert not target.region.overlaps(keypad)
        assert target.region.bottom <= max(keypad.y, size[1] - 2)
        assert f"{up(app)} to play" in shown(app)
        for row in board(app):
            assert row.split()[0] in shown(app)
        assert "▶" in shown(app)


async def test_eight_of_them_by_mouse_alone(make_app: MakeApp, store: Store) -> None:
    app = match(make_app, 8, turns="run")
    async with app.run_test(size=(40, 24)) as pilot:
        await ready(pilot)
        for name in EIGHT:
            assert up(app) == name
            all_on_the_board(app)
            await clicks(pilot, "444" if name != "Ole" else "5444")
        assert isinstance(app.screen, MatchResultScreen)
        assert up(app) == "Ole"
    assert [run.player for run in reversed(store.history(DRILL))] == list(EIGHT)


def all_on_the_board(app: DrillrunnerApp) -> None:
    for name in EIGHT:
        assert name in "\n".join(board(app))
        assert name[:4] in shown(app)


async def test_it_is_set_up_by_the_number_block_from_home(make_app: MakeApp, store: Store) -> None:
    for name in EIGHT[:3]:
        store.add_player(name)
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "-")
        assert isinstance(app.screen, MatchSetupScreen)
        await keys(pilot, "5")
        assert "expected 2 to 8 players" in line(app, "say")
        assert "[1] Ines" in shown(app)
        assert app.screen.under in ("player:Tobi", "player:Mara"), "Enter marks a friend at once"
        rows = app.screen.query_one("#form-rows", BlockList)
        rows.highlighted = rows.get_option_index("where")
        await keys(pilot, "6")
        assert line(app, "say") == "", "between bays one opens it alone"
        await keys(pilot, "4")
        await keys(pilot, "722E")
        assert "[2] Mara" in shown(app) or "[2] Tobi" in shown(app)
        chosen = app.screen.setup.players
        assert chosen[0] == "Ines"
        app.screen.query_one("#form-rows").action_last()  # the fair fight
        await keys(pilot, "6")
        assert app.screen.setup.fair
        await keys(pilot, "6")
        assert not app.screen.setup.fair
        await keys(pilot, "5")
        assert isinstance(app.screen, MatchPlayScreen)
        assert [one.entrant.name for one in app.screen.desk.board] == list(chosen)


async def test_no_row_of_a_setup_moves_once_it_is_known_who_else_there_is(
    make_app: MakeApp, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in EIGHT[:3]:
        store.add_player(name)
    app = make_app(player="Ines")
    async with app.run_test(size=(40, 24)) as pilot:
        await ready(pilot)
        read = app.records.read
        with monkeypatch.context() as slow:
            slow.setattr(app.records, "read", lambda _: None)
            await keys(pilot, "-")
            assert isinstance(app.screen, MatchSetupScreen)
            assert "somebody new" not in shown(app)
            await keys(pilot, "5E8")
        read(app.screen)
        await pilot.pause()
        assert "somebody new" in shown(app)
        assert app.screen.under in ("player:Mara", "player:Tobi")


async def test_left_and_gone_on_with_from_home(
    make_app: MakeApp, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = match(make_app, 3)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "5545")
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        assert "Leave the match?" in shown(app)
        await keys(pilot, "E")
        assert isinstance(app.screen, HomeScreen)
        assert "▶ Match: Hold the corridor" in shown(app)
        assert "Ines, Tobi, Mara" in shown(app)
    # Killed or left, the next start finds it in the records.
    again = make_app(player="Ines")
    async with again.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        with monkeypatch.context() as held:
            held.setattr(MatchDesk, "resume", Mock(side_effect=Busy("another program holds it")))
            await keys(pilot, "7E")
            assert "another program holds it" in shown(again)
            assert "try again" in shown(again)
            assert "close it" not in shown(again), "nothing is the matter with the match"
        await pilot.press("enter")
        await ready(pilot)
        assert isinstance(again.screen, MatchPlayScreen)
        assert up(again) == "Tobi"
        await keys(pilot, "*")
        assert up(again) == "Ines"
        assert line(again, "last") == "last: Ines: undone: in"
    own = make_app(player="Tobi", drill=DRILL)
    async with own.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert isinstance(own.screen, Choice), "Tobi's run of it is open"
        await keys(pilot, "E")
        assert isinstance(own.screen, MatchPlayScreen), "it goes on in its match, not alone"


async def test_who_has_an_open_run_is_asked_what_becomes_of_it(
    make_app: MakeApp, store: Store, catalogue: Catalogue
) -> None:
    tobi = store.add_player("Tobi")
    played(store, tobi.id, catalogue.drill(DRILL), "5", "5")
    app = match(make_app, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, Choice)
        assert "Tobi has an open run" in shown(app)
        assert "2 balls so far" in shown(app)
        await keys(pilot, "/")
        assert isinstance(app.screen, HomeScreen)
        assert len(store.open_runs()) == 1, "asked and left: nothing is lost"
        assert store.matches() == ()
        await once_more(pilot, 2)
        await keys(pilot, "E")
        assert type(app.screen) is PlayScreen, "first that one is finished"
        await pilot.press("escape")
        await pilot.pause()
        await once_more(pilot, 2)
        await keys(pilot, "2E")
        assert isinstance(app.screen, MatchPlayScreen)
        (given_up,) = store.history(DRILL)
        assert (given_up.ended, given_up.counted) == ("given up", 2)


@pytest.mark.parametrize(("down", "ended"), [("2", [None] * 3), ("22", ["given up"] * 3)])
async def test_leaving_keeps_or_gives_up_all_runs_as_one_choice(
    down: str, ended: list[str | None], make_app: MakeApp, store: Store
) -> None:
    app = match(make_app, 3)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "555")
        await pilot.press("escape")
        await pilot.pause()
        await keys(pilot, "/")
        assert isinstance(app.screen, MatchPlayScreen), "back is to play on"
        await pilot.press("escape")
        await pilot.pause()
        await keys(pilot, f"{down}E")
        assert isinstance(app.screen, HomeScreen)
    assert store.open_matches() == ()
    assert [run.ended for run in store.history(DRILL)] == ended


@pytest.mark.parametrize("left", ["E", "2E"])
async def test_the_next_match_asks_once_for_all_who_have_an_open_run(
    left: str, make_app: MakeApp, store: Store
) -> None:
    app = match(make_app, 3)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "555")
        await pilot.press("escape")
        await pilot.pause()
        await keys(pilot, left)
        await once_more(pilot, 3)
        assert "Ines, Tobi and Mara have open runs" in shown(app)
        assert ("go on with the open match" in shown(app)) == (left == "E")
        await keys(pilot, "2E")
        assert isinstance(app.screen, MatchPlayScreen), "and no other question"
        assert [run.ended for run in store.history(DRILL)] == ["given up"] * 3
        assert len(store.open_matches()) == 1


async def test_a_friend_is_asked_for_index_and_card_in_one_more_line(
    make_app: MakeApp, store: Store
) -> None:
    app = match(make_app, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("j", "end", "up", "enter")
        await pilot.pause()
        assert "Who joins?" in shown(app)
        await pilot.press(*"Lena", "enter")
        await pilot.pause()
        assert "Lena: index and card" in shown(app)
        await pilot.press(*"24 apples", "enter")
        await pilot.pause()
        assert "expected an index and men or women" in shown(app)
        await pilot.press(*["backspace"] * 6, *"women", "enter")
        await pilot.pause()
        assert len(board(app)) == 3
    lena = store.player("Lena")
    assert (lena.index, lena.column) == (24, "women")


@pytest.mark.parametrize(
    ("typed", "index", "column"),
    [
        ("", None, None),
        ("18,4", "18.4", None),
        ("W", None, "women"),
        ("men +1.2", "-1.2", "men"),
        ("m 54", "54", "men"),
    ],
)
def test_an_index_and_a_card_in_one_line(typed: str, index: str | None, column: str | None) -> None:
    assert bad_about(typed) is None
    assert about_of(typed) == (None if index is None else Decimal(index), column)


@pytest.mark.parametrize("typed", ["55", "18 19", "men women", "x", "18 men now"])
def test_what_is_no_index_and_card_is_one_line(typed: str) -> None:
    assert "expected an index" in str(bad_about(typed))


async def test_somebody_comes_late_and_somebody_leaves(make_app: MakeApp, store: Store) -> None:
    store.add_player("Mara")
    app = match(make_app, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "55")
        await pilot.press("j")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        await keys(pilot, "22E")
        assert len(board(app)) == 3
        assert up(app) == "Ines"
        await keys(pilot, "55")
        assert up(app) == "Mara"
        await pilot.press("j")
        await pilot.pause()
        await keys(pilot, "22E")
        assert up(app) == "Ines"
        assert board(app)[2].startswith("‖ Mara") or board(app)[2].startswith("✕ Mara")
        await pilot.press("j")
        await pilot.pause()
        await keys(pilot, "22E")
        assert up(app) == "Ines", "she is back in the round that is on"
        await keys(pilot, "55")
        assert up(app) == "Mara"


async def test_a_decided_match_is_closed_and_the_run_that_is_open_goes_on_alone(
    make_app: MakeApp, store: Store
) -> None:
    app = match(make_app, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "54445444"[:6])
        assert "wins" in line(app, "say")
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        await keys(pilot, "E")
        assert isinstance(app.screen, HomeScreen)
        assert store.open_matches() == ()
        assert "▶ Hold the corridor" in shown(app)
        await keys(pilot, "7E")
        assert type(app.screen) is PlayScreen
        await pilot.press("escape")
        await pilot.pause()
        await keys(pilot, "-")
        await pilot.press("escape", "t")
        await pilot.pause()
        assert isinstance(app.screen, StandingsScreen)
        assert "won 1 of 1" in shown(app)
        await keys(pilot, "666")
        assert "the last 90 days" in shown(app)


def test_a_season_is_two_days() -> None:
    assert bad_dates("2025-04-01 2025-09-30") is None
    assert bad_dates("2025-04-01 -") is None
    for wrong in ("soon", "2025-09-30 2025-04-01", "2025-04-01 2025-04-02 2025-04-03"):
        assert "expected two days" in str(bad_dates(wrong))


async def test_a_decider_parts_them_and_its_runs_are_no_records(
    make_app: MakeApp, store: Store
) -> None:
    app = match(make_app, 2, tie="decider")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "444444")
        assert isinstance(app.screen, MatchPlayScreen)
        assert "plays the decider" in shown(app)
        assert "tied" in "\n".join(board(app))
        await keys(pilot, "54")
        assert isinstance(app.screen, MatchResultScreen)
        assert "wins the decider" in shown(app)
        app.push_screen(HistoryScreen(DRILL, "Hold the corridor"))
        await settled(pilot)
        assert "decider: open · 1 ball" in shown(app)
        app.push_screen(RunScreen(store.history(DRILL)[1]))
        await settled(pilot)
        assert not app.screen.check_action("go_on", ()), "its match is over"
    assert {best.score for best in store.bests(drill_id=DRILL)} == {0}


@pytest.mark.usefixtures("counted")
async def test_a_fair_fight_is_shown_and_agreed_on(
    make_app: MakeApp, store: Store, catalogue: Catalogue
) -> None:
    drill = catalogue.drill(DRILL)
    for name, balls in (("Ines", "5" * 30), ("Tobi", "4565" * 8)):
        player = store.add_player(name)
        for at in range(0, len(balls), 10):
            playing = store.begin(player.id, drill.with_set(["lives=9", "balls=10"]))
            for ball in balls[at : at + 10]:
                if not playing.run.over:
                    playing.append(typed(ball, playing.run.game.ask))
            if not playing.run.over:
                store.give_up(playing.id)
    app = match(make_app, 2, fair=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, FairScreen)
        await settled(pilot)
        said = shown(app)
        assert "The same chance for everyone by width" in said
        assert "Tobi 40 yd wins" in " ".join(said.split()), (
            "the widest pattern keeps the drill as written"
        )
        assert "shots" in said
        fair = app.screen.fitted.fair  # type: ignore[union-attr]
        width = fair.drills[0].aim.width
        assert width is not None
        assert width < 40
        await keys(pilot, "E")
        assert isinstance(app.screen, MatchPlayScreen)
        assert f"{width} yd wide" in str(app.screen.title)
        await keys(pilot, "5")
        assert "40 yd wide" in str(app.screen.title)
        assert store.history(DRILL)[0].setting["aim"] == {"width": int(width)}


@pytest.mark.usefixtures("counted")
async def test_a_fair_fight_of_people_with_few_shots_is_a_guess_and_the_same_drill_stands_first(
    make_app: MakeApp,
) -> None:
    app = match(make_app, 2, fair=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await settled(pilot)
        assert isinstance(app.screen, FairScreen)
        assert "A guess: few shots of Ines, Tobi are known" in shown(app)
        rows = [str(one.id) for one in app.screen.query_one(BlockList).options]
        assert rows == ["written", "so", "back"]
        await keys(pilot, "E")
        assert isinstance(app.screen, MatchPlayScreen)
        assert "40 yd wide" in str(app.screen.title)


@asynccontextmanager
async def held_up(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> AsyncIterator[tuple[DrillrunnerApp, Pilot[None], threading.Event]]:
    """A fair fight that is worked out once the event is set, and Enter pressed before."""
    worked_out, fit_all = threading.Event(), match_fair.fit_all
    monkeypatch.setattr(match_fair, "fit_all", lambda *of: worked_out.wait(30) and fit_all(*of))
    app = match(make_app, 2, fair=True)
    async with app.run_test(size=(80, 24)) as pilot:
        try:
            while not isinstance(app.screen, FairScreen):
                await pilot.pause(0.05)
            await keys(pilot, "E")
            assert isinstance(app.screen, FairScreen), "Enter does not go back"
            assert "still working it out" in shown(app)
            yield app, pilot, worked_out
        finally:
            worked_out.set()


async def test_nobody_waits_for_a_fair_fight_that_is_being_worked_out(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with held_up(make_app, monkeypatch) as (app, pilot, _):
        await keys(pilot, "2E")
        assert isinstance(app.screen, MatchPlayScreen)


@pytest.mark.usefixtures("counted")
async def test_what_was_said_of_the_wait_goes_once_it_is_worked_out(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with held_up(make_app, monkeypatch) as (app, pilot, worked_out):
        worked_out.set()
        await settled(pilot)
        assert "A guess: few shots" in shown(app)
        assert "still working it out" not in shown(app)


async def test_a_challenge_is_played_ball_by_ball_against_who_is_not_here(
    make_app: MakeApp, store: Store, catalogue: Catalogue, clock: Clock
) -> None:
    drill = catalogue.drill(DRILL)
    theirs = Run.fold(drill.game(), [typed(ball, drill.game().ask) for ball in "55454"])
    assert theirs.ended is None
    theirs = theirs.add(typed("4", drill.game().ask))
    text = write("Lena", clock(), drill, theirs)
    against = read(text, catalogue.games), text
    app = make_app(player="Ines", against=against)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, MatchPlayScreen)
        assert up(app) == "Ines"
        await keys(pilot, "5")
        assert up(app) == "Ines", "Lena's ball was shown at once"
        assert "Lena 1 lives left ●●●" in board(app)[1]
        await keys(pilot, "44")
        assert "Lena 2 lives left ●●○" in board(app)[1]
        await keys(pilot, "*")
        assert "Lena 2 lives left ●●●" in board(app)[1], "and goes back with hers"
        await pilot.press("escape")
        await pilot.pause()
        await keys(pilot, "7E")
        assert isinstance(app.screen, HomeScreen), "left open"
        await keys(pilot, "7E")
        assert up(app) == "Ines"
        await keys(pilot, "44")
        assert isinstance(app.screen, MatchResultScreen)
        assert up(app) == "Lena"
        assert "from the file" in shown(app)
        await pilot.press("escape", "t")
        await pilot.pause()
        assert "No match decided here" in shown(app), "a file proves nothing"
    (mine,) = store.history(DRILL)
    assert (mine.player, mine.score, mine.finished) == ("Ines", 1, True)


@pytest.mark.parametrize(("dot", "high"), [(0, 3), (1, 5), (2, 10)])
def test_large_letters_are_there_for_every_plain_name(dot: int, high: int) -> None:
    for name in (*EIGHT, "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "José-Luis O'Neil 2."):
        lines = drawn(name, dot)
        assert lines is not None
        assert len(lines) == high
        assert len({len(line) for line in lines}) == 1
    assert drawn("田中", dot) is None


async def test_the_pad_answers_on_the_result(make_app: MakeApp) -> None:
    app = match(make_app, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "444444")
        assert isinstance(app.screen, MatchResultScreen)
        assert "share it" in shown(app)
        await keys(pilot, "5")
        assert "the match is over" in line(app, "say")
        pad = app.screen.query_one(Keypad)
        await pilot.click(pad, offset=pad.centre("slash"))
        await pilot.pause()
        assert isinstance(app.screen, MatchPlayScreen)
        assert line(app, "last") == "last: Tobi: void: left"
