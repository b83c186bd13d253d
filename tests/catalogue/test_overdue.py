"""A game that never comes back: ended in `check` and in play, on any thread, whatever it does."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest

from drillrunner.catalogue import allowed, overdue
from drillrunner.catalogue.check import check
from drillrunner.catalogue.loader import Unreadable, load_game
from drillrunner.cli.main import main
from drillrunner.odds.chance import Patterns, chance
from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import guess
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Run
from drillrunner.rules.soundness import Unsound
from drillrunner.store.errors import BrokenGame
from drillrunner.store.store import Store
from tests.catalogue.files import GAME, changed, load_with, write

SPINS = "        while state.balls == 1:\n            pass\n"
SLEEPS = "        import time\n        time.sleep(3600 * (state.balls == 1))\n"
HEAD = "    def after(self, state: CountState, shot: Shot) -> CountState:\n"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limits are short here; a game that comes back takes no hundredth of them."""
    monkeypatch.setattr(overdue, "LIMIT", 0.2)
    monkeypatch.setattr(overdue, "EVERY", 0.05)
    monkeypatch.setattr(overdue, "PATIENCE", 30.0)


def stuck(home: Path, how: str = SPINS) -> Path:
    """An allowed game whose second ball is never answered, with a drill beside it."""
    file = write(home / "mine", "count.py", changed(HEAD, HEAD + how, GAME))
    drill = changed('"lives"', '"count"').replace("lives = 2", "balls = 3")
    write(home / "mine", "mine.toml", drill)
    allowed.allow(file)
    return file


def test_check_names_the_line(home: Path) -> None:
    file = stuck(home)
    (said,) = {problem.reason for problem in check(file)}
    line = file.read_text().split("\n").index("            pass") + 1
    assert said.startswith("raised TooLong: did not come back within 0.2 s (line ")
    assert abs(int(said.rstrip(")").rpartition(" ")[2]) - line) <= 1


def test_a_run_ends_as_broken_with_its_entries_kept(home: Path) -> None:
    stuck(home)
    drill = load_with(home / "mine").drill("mine")
    with Store.open(home / "drillrunner.db") as store:
        playing = store.begin(store.add_player("Ann").id, drill)
        playing.append(read("5", playing.run.game.ask))
        with pytest.raises(BrokenGame, match="did not come back"):
            playing.append(read("5", playing.run.game.ask))
        (kept,) = store.history()
        assert not kept.finished
        assert kept.ended is not None
        assert [entry.text for entry in store.entries(kept.run)] == ["5", "5"]


def test_on_a_thread_of_the_odds_too(home: Path) -> None:
    stuck(home)
    game = load_with(home / "mine").drill("mine").game()
    patterns = Patterns(lateral=Pattern.of([], guess(200, "lateral")).plausible())
    raised: list[BaseException] = []

    def ask() -> None:
        try:
            chance(game, game.start(), patterns, 1)
        except Exception as error:
            raised.append(error)

    thread = threading.Thread(target=ask)
    thread.start()
    thread.join()
    assert [type(error) for error in raised] == [overdue.TooLong]


def test_a_call_that_waits_is_ended_as_well(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(overdue, "PATIENCE", 2.0)
    stuck(home, SLEEPS)
    game = load_with(home / "mine").drill("mine").game()
    run = Run.begin(game).add(read("5", game.ask))
    with pytest.raises(Unsound, match="did not come back"):
        run.add(read("5", game.ask))


@pytest.mark.parametrize("command", ["chance", "tune"])
def test_the_odds_on_the_command_line_say_it_in_a_line(
    command: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = stuck(home)
    words = f"{command} mine --beat 1 --bias 0 --spread 10 --games {file.parent}".split()
    assert main([*words, *(["--chance", "0.5"] if command == "tune" else [])]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"drillrunner: {file}:")
    assert said.err.endswith("the game raised TooLong: did not come back within 0.2 s\n")
    assert said.err.count("\n") == 1


def test_a_file_that_never_ends_when_it_is_read(home: Path) -> None:
    source = "while True:\n    pass\n" + GAME
    file = write(home / "mine", "count.py", source)
    overdue.watch()
    with pytest.raises(Unreadable, match="did not come back"):
        load_game(file, source.encode())


def test_our_own_work_is_never_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(overdue, "LIMIT", 0.0)
    watch = overdue.Watch()
    for _ in range(3):
        watch._look()
    assert watch._calls == {}


def test_what_stands_behind_a_frame_that_has_returned_ends_a_look_and_not_the_watch() -> None:
    assert overdue._call_in(re.compile("no frame")) is None  # type: ignore[arg-type]
