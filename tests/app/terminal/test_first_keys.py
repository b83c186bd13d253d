"""What is typed before the first paint counts where it was meant; a lost terminal ends the app."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from drillrunner.catalogue.listing import lists
from drillrunner.catalogue.loader import bundled, folders, load
from drillrunner.practice.matches import challenge
from drillrunner.rules.keypad import read
from drillrunner.store.store import Store
from tests.app.terminal.test_play import Terminal
from tests.app.terminal.test_session import PLAN

CORRIDOR = ("play", "hold-the-corridor")
ENDS_WITHIN = 2.0
ROOT = Path(__file__).parents[3]


def test_keys_from_before_the_first_paint_count_in_the_run_and_give_none_up(home: Path) -> None:
    database, another = str(home / "bay.db"), str(home / "another.db")
    terminal = Terminal(*CORRIDOR, "--player", "Ada", "--db", database)
    try:
        terminal.type("55")
        time.sleep(0.3)
        terminal.type("65")
        first = terminal.wait_for("lives left")
        assert "Drills" not in first
        terminal.wait_for("held 3", "lives left 2")
        # The first start reads the drills and keeps what they tell; the next ones go by that.
        for _ in terminal.reading("what the drills tell was kept"):
            if lists(folders(), CORRIDOR[1]):
                break
    finally:
        terminal.kill()
    # From its very first moment on, where the drill was listed.
    with Store.open(another) as store:
        store.add_player("Ada")
    terminal = Terminal(*CORRIDOR, "--player", "Ada", "--db", another)
    try:
        terminal.type("55")
        first = terminal.wait_for("in or out")
        terminal.type("65")
        assert "Drills" not in first
        terminal.wait_for("held 3", "lives left 2")
    finally:
        terminal.kill()
    # And where the first run was left open, no question is answered that gives it up.
    terminal = Terminal(*CORRIDOR, "--player", "Ada", "--db", database)
    try:
        # Here 2 and Enter would choose to give up, if the list took them.
        terminal.type("2\r4")
        seen = terminal.wait_for("has an open run", "give up and start anew", "back")
        # Home is not what was asked for: no other drill stands under the question.
        assert "Miss total" not in seen
        assert "DRIVER" not in seen
        time.sleep(1.0)
        terminal.type("\r")
        # All three go to the run: short and left were typed, and Enter means nothing there.
        terminal.wait_for("lives left 1", "held 4")
    finally:
        terminal.kill()


def test_a_match_takes_what_was_typed_before_it(home: Path) -> None:
    database = str(home / "bay.db")
    people = ("--player", "Ada", "--player", "Ben")
    terminal = Terminal(*CORRIDOR, *people, "--db", database)
    try:
        # Turn about: in for Ada, left for Ben, and so on, in the order typed.
        terminal.type("545")
        first = terminal.wait_for("to play")
        assert "DRIVER" not in first
        terminal.type("4")
        until_typed(terminal, database, "5454")
    finally:
        terminal.kill()
    with Store.open(database) as store:
        lives = {
            run.player: [one.text for one in store.entries(run.run)] for run in store.history()
        }
    assert lives == {"Ada": ["5", "5"], "Ben": ["4", "4"]}
    again = Terminal(*CORRIDOR, *people, "--db", database)
    try:
        # Here 2 and Enter would choose what gives the open runs up.
        again.type("2\r4")
        again.wait_for("give them all up", "no match")
        time.sleep(1.0)
    finally:
        again.kill()
    with Store.open(database) as store:
        assert {run.ended for run in store.history()} == {None}


def test_a_challenge_takes_what_was_typed_before_it(home: Path) -> None:
    with Store.open(home / "sender.db") as store:
        drill = load([bundled("games")]).drill("hold-the-corridor")
        playing = store.begin(store.add_player("Tobi").id, drill)
        for text in "55444":
            playing.append(read(text, playing.run.ask))
        (home / "tobi.json").write_text(
            challenge.write("Tobi", store.clock(), playing.drill, playing.run)
        )
    database = str(home / "bay.db")
    terminal = Terminal("accept", str(home / "tobi.json"), "--player", "Ada", "--db", database)
    try:
        terminal.type("56")
        first = terminal.wait_for("to play", "Tobi")
        assert "DRIVER" not in first
        terminal.type("4")
        until_typed(terminal, database, "564")
    finally:
        terminal.kill()


def test_a_session_opens_first_and_what_was_typed_before_it_counts_there_in_order(
    home: Path,
) -> None:
    (home / "games" / "plans").mkdir(parents=True)
    (home / "games" / "plans" / "tiny.toml").write_text(PLAN)
    database = str(home / "bay.db")
    asked = ("session", "--plan", "tiny", "--minutes", "6", "--balls", "20", "--player", "Ada")
    common = ("--db", database, "--games", str(home / "games"))
    terminal = Terminal(*asked, *common)
    try:
        # Enter starts the clock; then a ball, a ball taken back, and two more.
        terminal.type("\r5*")
        time.sleep(0.3)
        terminal.type("55")
        first = terminal.wait_for("1 of 3", "balls 2 of 2")
        assert "DRIVER" not in first
    finally:
        terminal.kill()
    with Store.open(database) as store:
        (info,) = store.sessions()
        balls = [event.data["count"] for event in info.events if event.kind == "ball"]
        assert balls == [1, -1, 1, 1]
    terminal = Terminal(*asked, *common)
    try:
        # Down and Enter would end the session that was left open.
        terminal.type("2\r")
        seen = terminal.wait_for("A session is open", "end it and plan anew")
        assert "DRIVER" not in seen
        time.sleep(1.0)
    finally:
        terminal.kill()
    with Store.open(database) as store:
        assert [one.ended_at for one in store.sessions()] == [None]


def until_typed(terminal: Terminal, database: str, typed: str) -> None:
    """Read until all of this is on disk, in this order."""
    for _ in terminal.reading(f"{typed} on disk"):
        with Store.open(database) as store, store.database.reading() as connection:
            rows = connection.exec_driver_sql("SELECT text FROM entry ORDER BY number")
            if "".join(text for (text,) in rows) == typed:
                return


@pytest.mark.skipif(not Path("/proc/self/schedstat").exists(), reason="no figures of the scheduler")
def test_a_terminal_that_is_gone_ends_the_app_even_where_hanging_up_is_ignored(home: Path) -> None:
    code = (
        "import signal, sys; signal.signal(signal.SIGHUP, signal.SIG_IGN);"
        "from drillrunner.cli.main import main; sys.exit(main())"
    )
    pid, handle = os.forkpty()
    if pid == 0:
        os.environ["TERM"] = "xterm-256color"
        os.execv(sys.executable, [sys.executable, "-c", code, "--db", str(home / "bay.db")])
    drawn = b""
    while b"Drills" not in drawn and b"play" not in drawn.lower():
        drawn += os.read(handle, 1 << 16)
    before = spent(pid)
    os.close(handle)
    gone, ended, now = time.monotonic(), 0, before
    while not ended and time.monotonic() - gone < 10 * ENDS_WITHIN:
        # Of a thread that has ended what was seen last is kept.
        now = now | spent(pid)
        time.sleep(0.01)
        ended = os.waitpid(pid, os.WNOHANG)[0]
    took = time.monotonic() - gone
    if not ended:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
    since = {
        one: [a - b for a, b in zip(now[one], before.get(one, (0, 0)), strict=True)] for one in now
    }
    assert ended, "it goes on without a terminal"
    assert sum(had for had, _ in since.values()) < ENDS_WITHIN / 2, "it is busy without a terminal"
    # That other programs had the processor is not its fault; one thread sees that nobody is there,
    # another ends the app.
    kept_waiting = sum(sorted(waited for _, waited in since.values())[-2:])
    assert took - kept_waiting < ENDS_WITHIN, "it is late to notice that its terminal is gone"


def spent(pid: int) -> dict[str, tuple[float, float]]:
    """Seconds that each thread of a program had a processor, and that it waited for one."""
    found = {}
    for task in Path(f"/proc/{pid}/task").glob("*/schedstat"):
        with suppress(OSError):
            had, waited, _ = map(int, task.read_text().split())
            found[task.parent.name] = had / 1e9, waited / 1e9
    return found


@pytest.mark.parametrize("ending", ["end of input", "killed parent"])
def test_the_app_of_a_browser_starts_without_a_terminal_and_ends_with_its_input(
    home: Path, ending: str
) -> None:
    driver = {"TEXTUAL_DRIVER": "textual.drivers.web_driver:WebDriver"}
    app = subprocess.Popen(
        [sys.executable, "-m", "drillrunner", "--db", str(home / "bay.db")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **driver},
    )
    assert app.stdin is not None
    assert app.stdout is not None
    assert app.stdout.read(13) == b"__GANGLION__\n"
    assert b"D" in app.stdout.read(64)
    app.stdin.close()
    if ending == "killed parent":
        app.stdout.close()
    try:
        app.wait(10 * ENDS_WITHIN)
    finally:
        app.kill()


def test_a_few_fuzzed_starts_end_in_good_order() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.app.fuzz", "--starts", "4", "--seed", "2"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr
