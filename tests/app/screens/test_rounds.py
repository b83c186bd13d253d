"""Rounds in the app: typed with corrections, killed and gone on with, and what they come to."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.screens.round_card import RoundCardScreen
from drillrunner.app.screens.round_play import RoundPlayScreen
from drillrunner.app.screens.round_setup import day_of
from drillrunner.catalogue.courses import load_courses, own_folder
from drillrunner.catalogue.strokes.golfer import Golfer
from drillrunner.catalogue.strokes.rating import ability
from drillrunner.practice.rounds.handicap import USUAL
from drillrunner.services import association
from drillrunner.services.rounds import player_rounds
from drillrunner.store.round_book import NewRound
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown
from tests.app.test_odds_worker import until
from tests.odds.rounds import Player
from tests.rules.cards import keys_of, typeable

Make = Callable[..., DrillrunnerApp]
NAMES = {"!": "enter", "*": "asterisk", "/": "slash", "+": "plus", "-": "minus", ".": "full_stop"}
DAY = date(2025, 5, 9)


async def keys(pilot: Pilot[None], typed: str) -> None:
    """Press these; what was written stands when this is done."""
    for key in typed.replace(" ", ""):
        await pilot.press(NAMES.get(key, key))
        for _ in range(200):
            screen = pilot.app.screen
            if not (isinstance(screen, RoundPlayScreen) and screen.writing):
                break
            await pilot.pause(0.01)
    await ready(pilot)


def begun(store: Store, player: str, holes: list[int], form: str = "score") -> str:
    course = load_courses().courses[0]
    new = NewRound(DAY, form, course.id, course.as_kept, "white", {"holes": holes})  # type: ignore[arg-type]
    return store.rounds.add(player, new)[0].id


async def test_a_round_is_typed_whole_corrected_left_and_gone_on_with(
    make_app: Make, store: Store, ines: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "r5")
        assert "Larch Bottom" in shown(pilot.app)
        # The last nine.
        await keys(pilot, "1 8 4 7 !")
        assert "hole 10" in shown(pilot.app)
        # A 3 wood, fairway, 150 yards, on, 20 ft, then a slip taken back: 2 putts, not 3.
        await keys(pilot, "+")
        assert "tee shot, 3 wood" in shown(pilot.app)
        await keys(pilot, "5 150! 5 20! 3 * 2 !")
        assert "hole 11" in shown(pilot.app)
    (info,) = store.rounds.of(ines)
    assert (info.card.holes[10].putts, info.card.holes[10].club) == (2, "3-wood")
    # The app was ended in the middle of a round: the next one offers it.
    async with make_app().run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert "Round of 2025-05-10" in shown(pilot.app)
        await keys(pilot, "7!")
        assert "hole 11" in shown(pilot.app)
        # At the first question taking back leads to the hole before; Enter takes what was told.
        await keys(pilot, "* !!! 25! 3 5 !")
        assert store.rounds.round(info.id).card.holes[10].putts == 3
        await keys(pilot, "5 90! 4 /12! 8! 1 !")
    told = store.rounds.round(info.id)
    assert (told.card.holes[11].lie, told.card.holes[11].score) == ("sand", 4)
    for number in range(12, 18):
        store.rounds.tell(info.id, told.seq + number - 11, "hole", {"hole": number, "score": 5})
    async with make_app().run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "7!")
        # A par 5, laid up once more than usual; the last hole ends the round.
        await keys(pilot, "5 +90! 5 20! 2 !")
        assert isinstance(pilot.app.screen, RoundCardScreen)
        assert "no differential" in shown(pilot.app)
    card = store.rounds.round(info.id).card
    assert card.finished
    assert (card.holes[18].number, card.holes[18].score) == (4, 6)
    assert len(card.holes) == 9
    assert info.data["holes"] == list(range(10, 19))


async def test_scores_alone_make_a_round_by_enter_and_digits(
    make_app: Make, store: Store, ines: str
) -> None:
    id = begun(store, ines, list(range(1, 19)))
    async with make_app().run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        pilot.app.open(doors.RoundPlay(id))  # type: ignore[attr-defined]
        await ready(pilot)
        # Index 18.4 gets a stroke or more on every hole: Enter takes that.
        await keys(pilot, "!" * 17 + "12!")
        assert isinstance(pilot.app.screen, RoundCardScreen)
        one = player_rounds(store, store.player_of(ines)).rounds[0]
        assert one.gross is not None
        assert one.card.holes[18].score == 12
        assert one.adjusted is not None
        assert one.adjusted < one.gross
        # Taken out by the last row, and put back.
        await keys(pilot, "1!")
        assert store.rounds.round(id).card.out
        assert "taken out" in shown(pilot.app)
        await keys(pilot, "!")
        assert not store.rounds.round(id).card.out


async def test_a_score_that_can_not_be_is_said_and_asked_again(
    make_app: Make, store: Store, ines: str
) -> None:
    id = begun(store, ines, list(range(1, 19)), "full")
    async with make_app().run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        pilot.app.open(doors.RoundPlay(id))  # type: ignore[attr-defined]
        await ready(pilot)
        await keys(pilot, "5 150! 5 20! 2 9!")
        assert "score: expected 4" in shown(pilot.app)
        assert store.rounds.round(id).card.holes == {}
        await keys(pilot, "!")
        assert store.rounds.round(id).card.holes[1].score == 4


def test_a_day_without_its_year_is_the_last_such_day() -> None:
    may = date(2025, 5, 10)
    days = [day_of(text, may) for text in ("9.5.", "11.5", "12.5.", " 2024-02-29 ")]
    assert days == [date(2025, 5, 9), date(2025, 5, 11), date(2024, 5, 12), date(2024, 2, 29)]


async def test_the_same_round_twice_is_asked_about(make_app: Make, store: Store, ines: str) -> None:
    begun(store, ines, list(range(1, 19)))
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        app.open(doors.RoundSetup("larch-bottom", "white", DAY))
        await ready(pilot)
        # Tomorrow may be today elsewhere; the day after it has come nowhere.
        await keys(pilot, "2226")
        assert "2025-05-10" in shown(app)
        await keys(pilot, "66")
        assert "expected a day that has come" in shown(app)
        await keys(pilot, "447!")
        assert "The same round?" in shown(app)
        await keys(pilot, "!")
        assert isinstance(app.screen, RoundCardScreen)
    assert len(store.rounds.of(ines)) == 1


async def test_a_course_is_typed_from_its_card_and_kept_in_a_file(
    make_app: Make, store: Store, ines: str
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        app.open(doors.CourseForm())
        await ready(pilot)
        await pilot.press("enter")
        assert "hole 1 is not told yet" in shown(app)
        await pilot.press("2", "enter", *"Nine Poplars", "enter")
        await ready(pilot)
        assert "hole 1 is not told yet" not in shown(app), "it was said of what stood there before"
        await pilot.press("2", "2", "4")
        await pilot.press("2", "enter", *"35.1/118 yellow", "enter")
        await pilot.press("2", "enter")
        for number, par in enumerate((4, 4, 3, 5, 4, 4, 3, 5, 4), 1):
            if number == 2:
                await pilot.press(*"4/400/1", "enter")
                await ready(pilot)
                assert "is hole 1's" in shown(app)
                await pilot.press(*["backspace"] * 7)
            told = f"{par}/{300 + number}/{number}"
            if number > 3:  # as a paste does: typed key by key before
                app.screen.query_one(Input).value = told
                told = ""
            await pilot.press(*told, "enter")
        await pilot.press("7", "enter")
        await ready(pilot)
    course = load_courses().course("nine-poplars")
    assert (own_folder() / "nine-poplars.toml").exists()
    assert (course.title, course.par, course.tees[0].rating) == (
        "Nine Poplars", 36, Decimal("35.1"),
    )  # fmt: skip
    assert [hole.length for hole in course.holes] == list(range(301, 310))


async def test_why_a_key_did_nothing_goes_with_the_next_that_does(
    make_app: Make, store: Store, ines: str
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        for door, row, nothing, does, said in (
            (doors.RoundSetup(), "day", "666", "4", "expected a day that has come"),
            (doors.SessionSetup(), "", "0", "6", "no session yet"),
        ):
            app.open(door)
            await ready(pilot)
            screen: Any = app.screen
            if row:
                screen.block.highlighted = screen.block.get_option_index(row)
            await pilot.press(*nothing)
            await ready(pilot)
            assert said in shown(app)
            await pilot.press(does)
            await ready(pilot)
            assert said not in shown(app)


@pytest.mark.usefixtures("counted")
async def test_the_index_says_what_counts_what_drops_and_what_the_goal_needs(
    make_app: Make, store: Store, ines: str
) -> None:
    rounds = [
        NewRound(
            date(2025, 4, day), "score", data={"gross": 90 + day % 4, "rating": 72, "slope": 113},
            told=[("finished", {})],
        )
        for day in range(1, 21)
    ]  # fmt: skip
    store.rounds.add(ines, *rounds)
    store.intents.set_goal(ines, Decimal("17.8"), None)
    app = make_app()
    async with app.run_test(size=(80, 40)) as pilot:
        await ready(pilot)
        await pilot.press("i")
        await ready(pilot)
        text = shown(app)
        # The lowest eight of twenty: five of 18 and three of 19.
        assert "Index 18.4" in text
        assert "drops out with the next one" in text
        assert "or less" in text
        assert "%" in text
        assert "the index that your club keeps is the one that counts" in text
        # What the association chose: the last row; kept in a file, and taken at once.
        await keys(pilot, "1!")
        assert "Your association" in shown(app)
        await keys(pilot, "22!")
        assert "left out" in shown(app)
        assert association.load() == (replace(USUAL, par_counts=False), None)
        await keys(pilot, "2!")
        await pilot.press(*["backspace"] * 2, *"2000", "enter")
        assert "expected 10 to 150" in shown(app)
        await pilot.press(*["backspace"] * 4, *"100", "enter")
        await ready(pilot)
        await keys(pilot, "4")
        assert association.options().allowance == 1
        await keys(pilot, "7!")
        await pilot.press(*"-2", "enter")
        await ready(pilot)
        assert "the lowest -2" in shown(app)
        assert association.options().early == {1: Decimal(-2)}


async def test_a_played_nine_goes_key_by_key_through_the_form_and_is_kept_as_told(
    make_app: Make, store: Store, ines: str
) -> None:
    """A made-up golfer's holes, two-way misses: typed faster than the disk keeps them."""
    course = load_courses().courses[0]
    player = Player(Golfer(ability(18.0)), "two-way", random.Random(5))
    holes = [
        player.hole(number, course.holes[number - 1].par, course.yards(number, course.tees[0]))
        for number in range(1, 10)
    ]
    assert all(typeable(hole, course.holes[hole.hole - 1].par) for hole in holes)
    id = begun(store, ines, list(range(1, 10)), "full")
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        app.open(doors.RoundPlay(id))
        await ready(pilot)
        screen = app.screen
        assert isinstance(screen, RoundPlayScreen)
        for hole in holes:
            for key in keys_of(hole, course.holes[hole.hole - 1].par):
                screen.press(NAMES.get(key, key), None if key == "!" else key)
        await until(pilot, lambda: isinstance(app.screen, RoundCardScreen))
    card = store.rounds.round(id).card
    assert card.finished
    for hole in holes:
        kept = card.holes[hole.hole]
        assert (kept.score, kept.putts, kept.putt, kept.result, kept.approach, kept.tee) == (
            hole.score, hole.putts, hole.putt, hole.result, hole.approach, hole.tee,
        )  # fmt: skip


async def test_nine_holes_that_wait_for_a_partner_say_so(
    make_app: Make, store: Store, ines: str
) -> None:
    told = {"gross": 45, "rating": 35.2, "slope": 120, "holes": 9}
    store.rounds.add(ines, NewRound(DAY, "score", data=told, told=[("finished", {})]))
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await keys(pilot, "r")
        assert "nine holes wait for nine others" in shown(app)
        await keys(pilot, "i")
        assert f"{DAY}: nine holes wait for nine others" in shown(app)
        store.rounds.add(ines, NewRound(DAY, "score", data=told, told=[("finished", {})]))
        await pilot.press("escape", "escape")
        await keys(pilot, "r")
        assert "wait for nine others" not in shown(app)
        assert "of two nines" in shown(app)
