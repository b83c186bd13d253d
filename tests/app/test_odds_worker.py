"""The chance beside a run: it is the odds' own, of the run as it stands, and never in the way."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from threading import Event
from time import monotonic

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from drillrunner.app import newest, odds_words
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.odds_worker import KEPT, Follower, NextTime, Told
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.widgets.target import TargetWidget
from drillrunner.catalogue.loader import Catalogue
from drillrunner.cli.main import main
from drillrunner.odds import desk
from drillrunner.odds.counsel import AtAim, Within
from drillrunner.odds.desk import Answer
from drillrunner.odds.pattern import Band
from drillrunner.odds.reading import AimOff
from drillrunner.rules import Run, keypad
from drillrunner.rules.run import Entry, Kind
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown, worked_out

pytestmark = pytest.mark.usefixtures("counted")

MakeApp = Callable[..., DrillrunnerApp]
KEYS = {"+": "plus", "-": "minus", "*": "asterisk", "/": "slash", "E": "enter"}
ANSWER = Answer(0.34, True, 0.0, 9, 0.41, 0.22, None, False, 40)
TOLD = Told(ANSWER, None, None, False, 40)


def play(app: DrillrunnerApp) -> PlayScreen:
    """The screen on top."""
    assert isinstance(app.screen, PlayScreen)
    return app.screen


def said(app: DrillrunnerApp) -> str:
    """What stands in the line of the chance."""
    return str(app.screen.query_one("#chance", Static).content)


async def typed(pilot: Pilot[None], keys: str) -> None:
    """Press keys of the block and wait for the odds."""
    await pilot.press(*(KEYS.get(key, key) for key in keys))
    await worked_out(pilot)


def expected(app: DrillrunnerApp, store: Store) -> Answer:
    """What the odds say of the run as it is on disk, asked anew."""
    playing = play(app).playing
    drill, best = playing.drill, play(app).best
    assert best is not None
    picture = desk.picture_of(store, playing.player, drill.club, drill.swing, drill.aim, drill.unit)
    answer = desk.ask(playing.run.game, playing.run, picture, best.score)
    assert answer is not None
    return answer


@pytest.mark.parametrize(
    ("drill", "before", "entries"),
    [
        ("hold-the-corridor", "", ("5", "4", "5", "*", "/", "6", "+12E")),
        ("miss-total-five", "-15E+20E0E5E-10E", ("-5E", "+10E", "*", "/", "0E")),
    ],
)
async def test_the_line_is_the_odds_own_answer_after_every_entry(
    make_app: MakeApp, ines: str, store: Store, drill: str, before: str, entries: tuple[str, ...]
) -> None:
    app = make_app(player="Ines", drill=drill)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        if before:
            await typed(pilot, before + "E")
            await worked_out(pilot)
        seen = set()
        for entry in ("", *entries):
            await typed(pilot, entry)
            answer, beat = expected(app, store), play(app).best
            assert beat is not None
            told = Told(answer, None, None, answer.guess, answer.shots)
            lines = odds_words.chance_variants(told, beat.score, True)
            assert said(app) in lines, entry
            assert f"{answer.shots} shot" in said(app)
            seen.add(said(app))
        assert len(seen) >= 3


async def test_the_pattern_stands_behind_the_corridor_with_what_it_rests_on(
    make_app: MakeApp,
) -> None:
    app = make_app(player="Zoe", drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert "a guess so far, 0 shots" in said(app)
        assert "a ball holds" in said(app)
        assert "░" in app.screen.query_one(TargetWidget).picture
        await typed(pilot, "5")
        assert "a guess so far, 1 shot" in said(app)
        await typed(pilot, "*")
        assert "a guess so far, 0 shots" in said(app)


class Slow:
    """A `Follower.tell` that waits until it is let go, run by run."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.asked: list[int] = []
        self.go: dict[int, Event] = {}
        monkeypatch.setattr(Follower, "tell", lambda _, run, beat, span: self.tell(run))

    def tell(self, run: Run) -> Told:
        """Say how many balls the answer is for: so many per cent."""
        counted = run.counted
        self.asked.append(counted)
        self.go.setdefault(counted, Event()).wait(20)
        return replace(TOLD, answer=replace(ANSWER, chance=counted / 100))

    def let_go(self, counted: int) -> None:
        """Let the answer for so many balls come."""
        self.go.setdefault(counted, Event()).set()


async def until(pilot: Pilot[None], true: Callable[[], bool]) -> None:
    """Wait for something, for a while."""
    end = monotonic() + 20
    while not true():
        assert monotonic() < end
        await pilot.pause(0.01)


async def test_a_chance_stands_until_the_next_is_there_but_for_a_moment_only(
    make_app: MakeApp, ines: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = Slow(monkeypatch)
    for balls in (0, 1, 2, 4):
        slow.let_go(balls)
    app = make_app(player="Ines", drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("5")
        await until(pilot, lambda: said(app).startswith("1 %"))
        lines: list[str] = []
        show = play(app).show_chance
        monkeypatch.setattr(play(app), "show_chance", lambda *of: (lines.append(of[0]), show(*of)))
        monkeypatch.setattr(newest, "LATE", 1000.0)
        await pilot.press("5")
        await until(pilot, lambda: said(app).startswith("2 %"))
        assert all(line.startswith("2 %") for line in lines)
        # The next does not come: the one before does not stay, whatever else is typed.
        monkeypatch.setattr(newest, "LATE", 0.1)
        await pilot.press("5")
        try:
            await until(pilot, lambda: said(app).strip() == odds_words.WAITING)
            await pilot.press("5")
            assert said(app).strip() == odds_words.WAITING
        finally:
            slow.let_go(3)
        await until(pilot, lambda: said(app).startswith("4 %"))


async def test_keys_are_taken_while_the_odds_think_and_stale_answers_are_dropped(
    make_app: MakeApp, ines: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = Slow(monkeypatch)
    app = make_app(player="Ines", drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await until(pilot, lambda: slow.asked == [0])
        try:
            assert said(app).strip() == odds_words.WAITING
            await pilot.press("5", "5", "5", "5", "5")
            assert play(app).playing.run.counted == 5
            assert "held 5" in shown(app)
            assert slow.asked == [0]
            slow.let_go(0)
            # The four questions between were never worked out; the answer to the first is dropped.
            await until(pilot, lambda: len(slow.asked) == 2)
            assert slow.asked == [0, 5]
            assert said(app).strip() == odds_words.WAITING
            await pilot.press("4")
            slow.let_go(5)
            await until(pilot, lambda: len(slow.asked) == 3)
            assert said(app).strip() == odds_words.WAITING
            slow.let_go(6)
            await worked_out(pilot)
            assert said(app).startswith("6 % to beat 3")
        finally:
            for counted in range(10):
                slow.let_go(counted)


async def test_a_game_that_fails_in_the_odds_is_told_and_ends_nothing(
    make_app: MakeApp, ines: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: object) -> Told:
        raise ZeroDivisionError("seven")

    monkeypatch.setattr(Follower, "tell", failing)
    app = make_app(player="Ines", drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert said(app) == "no odds: seven"
        await typed(pilot, "5")
        assert play(app).playing.run.counted == 1


@pytest.mark.parametrize("size", [(80, 24), (40, 24), (160, 50)])
async def test_the_chance_fits(make_app: MakeApp, ines: str, size: tuple[int, int]) -> None:
    app = make_app(player="Ines", drill="hold-the-corridor")
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        await typed(pilot, "54")
        room = app.screen.query_one("#chance").content_size.width
        assert "%" in said(app)
        assert all(len(line) <= room for line in said(app).split("\n"))
        target = app.screen.query_one(TargetWidget)
        assert target.size.height >= 2
        assert target.region.bottom <= app.screen.query_one("#say").region.y


# ---- the words ----


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0, "0 %"), (0.004, "<1 %"), (0.0051, "1 %"), (0.5, "50 %"), (0.996, ">99 %"), (1, "100 %")],
)
def test_only_what_is_certain_is_said_to_be(chance: float, words: str) -> None:
    assert odds_words.share(chance) == words


def variants(answer: Answer, *, roomy: bool = True) -> list[str]:
    """What is said of an answer."""
    told = Told(answer, None, None, answer.guess, answer.shots)
    return odds_words.chance_variants(told, Decimal(9), roomy)


def test_sure_and_out_of_reach_only_where_it_is_settled() -> None:
    done = replace(ANSWER, states=1, if_in=None, if_out=None)
    assert variants(replace(done, chance=1.0))[0].startswith("sure to beat 9")
    assert not any("reach" in said for said in variants(replace(done, chance=0.0)))
    walked = replace(ANSWER, chance=0.0, if_in=0.0, if_out=None)
    assert variants(walked)[0].startswith("9 is out of reach")
    assert "sure" not in variants(replace(ANSWER, chance=1.0))[0]


def test_an_estimate_is_marked_with_its_error() -> None:
    rolled = replace(ANSWER, exact=False, error=0.0074)
    assert variants(rolled)[0].startswith("~ 34 % (± 0.7) to beat 9")


def test_the_next_ball_and_a_narrow_line() -> None:
    assert variants(ANSWER)[0] == "34 % to beat 9 · next in: 41 %, out: 22 %\nfrom 40 shots"
    within = replace(ANSWER, within=Decimal(10))
    assert "next within 10: 41 %, else 22 %" in variants(within)[0]
    narrow = variants(replace(ANSWER, guess=True, shots=3), roomy=False)
    assert odds_words.fitting(narrow, 38) == "34 % · in: 41 %, out: 22 % · guess"
    assert all("guess" in line for line in narrow)


def test_without_a_best_the_chance_to_hold_the_aim() -> None:
    told = Told(None, Band(0.694, 0.41, 0.91), None, True, 1)
    (line,) = odds_words.chance_variants(told, None, True)
    assert line == "a ball holds 69 % (41 to 91)\na guess so far, 1 shot"


def test_where_the_best_is_far_the_typical_score_stands_beside_it() -> None:
    far = replace(ANSWER, chance=0.03, if_in=0.04, if_out=0.01)
    near = Within(Decimal(4), replace(ANSWER, chance=0.55))
    told = replace(TOLD, answer=far, typical=near)
    first = odds_words.chance_variants(told, Decimal(9), True)[0]
    assert first.endswith("\n55 % to beat 4, your typical score · from 40 shots")
    narrow = odds_words.fitting(odds_words.chance_variants(told, Decimal(9), False), 38)
    assert narrow == "3 % to beat 9 · 55 % to beat 4"
    lost = replace(told, answer=replace(far, chance=0.0, states=1, if_in=None, if_out=None))
    assert "to beat 4" in odds_words.chance_variants(lost, Decimal(9), True)[0]


def test_a_result_says_where_to_aim_and_how_many_balls_are_missing() -> None:
    aim = AtAim("lateral", Band(0.52, 0.41, 0.63), AimOff(-8, 0.64, 0.52), 40)
    beside = Within(Decimal(4), replace(ANSWER, chance=0.55))
    assert odds_words.next_lines(NextTime(0.03, beside, aim), Decimal(9)) == [
        "next time 3 % to beat 9, 55 % to beat 4, your typical score",
        "a ball holds 52 % (41 to 63) · aim 8 left: 64 % for 52 % · "
        "40 more balls: sure to 10 points",
    ]
    assert odds_words.next_lines(NextTime(0.5, None, None), Decimal(9)) == []


async def test_play_and_result_ask_for_them(
    make_app: MakeApp, store: Store, catalogue: Catalogue
) -> None:
    player = store.add_player("Kim")
    drill = catalogue.drill("hold-the-corridor")
    for _ in range(6):
        played(store, player.id, drill, *"4454")
    played(store, player.id, drill, *"5" * 18, *"444")
    app = make_app(player="Kim", drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert "to beat 1, your typical · from 45 shots" in said(app)
        await typed(pilot, "444")
        told = str(app.screen.query_one("#next", Static).content)
        assert "to beat 1, your typical score" in told
        assert "a ball holds" in told


# ---- before the first paint ----

FIRST_PAINT = """
import asyncio, sys
from drillrunner.app.app import DrillrunnerApp
from drillrunner.catalogue.loader import folders

painted = set()

class Watched(DrillrunnerApp):
    def stands(self):
        painted.update(sys.modules)
        self.exit()

async def main():
    app = Watched(database=sys.argv[1], folders=folders())
    async with app.run_test() as pilot:
        await pilot.pause()

asyncio.run(main())
print(*sorted(painted))
"""


def test_nothing_of_the_odds_is_imported_before_the_first_paint(ines: str, database: str) -> None:
    found = subprocess.run(
        [sys.executable, "-c", FIRST_PAINT, database], capture_output=True, text=True, check=True
    )
    modules = found.stdout.split()
    assert "drillrunner.app.screens.home" in modules
    late = ("drillrunner.odds", "numpy", "plotext", "textual_plotext")
    assert [name for name in modules if name.startswith(late)] == []


def test_a_long_run_is_followed_in_bounded_memory_and_back_again(
    store: Store, catalogue: Catalogue
) -> None:
    player = store.add_player("Zoe")
    playing = store.begin(player.id, catalogue.drill("hold-the-corridor"))
    follower, game = Follower(store, playing), playing.run.game
    run = playing.run
    for _ in range(KEPT + 20):
        run = run.add(keypad.read("5", game.ask))
    whole = follower.bag(run).picture(run.ask)
    assert whole.lateral.shots == KEPT + 20
    assert len(follower._bags) <= KEPT + 1
    for _ in range(KEPT + 10):
        run = run.add(Entry(Kind.UNDO))
    assert follower.bag(run).picture(run.ask).lateral.shots == 10
    assert len(follower._bags) <= KEPT + 1


def test_the_command_line_says_the_same_of_the_same_entries(
    store: Store, catalogue: Catalogue, ines: str, database: str, capsys: pytest.CaptureFixture[str]
) -> None:
    playing = store.begin(ines, catalogue.drill("hold-the-corridor"))
    follower, run = Follower(store, playing), playing.run
    texts = ["5", "4", "void", "0", "5", "undo", "+12"]
    for at, text in enumerate(["", *texts]):
        if text:
            run = run.add(keypad.read(text, run.game.ask))
        told = follower.tell(run, Decimal(3), Decimal(40))
        assert told.answer is not None
        words = ["chance", "hold-the-corridor", *texts[:at], "--beat", "3", "--json"]
        assert main([*words, "--player", "Ines", "--db", database]) == 0
        assert json.loads(capsys.readouterr().out)["chance"] == told.answer.chance
