"""What is typed before the first paint counts where it was meant; a lost terminal ends the app."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.app.terminal.test_play import Terminal

CORRIDOR = ("play", "hold-the-corridor")
ENDS_WITHIN = 2.0
ROOT = Path(__file__).parents[3]


def test_keys_from_before_the_first_paint_count_in_the_run(home: Path) -> None:
    terminal = Terminal(*CORRIDOR, "--player", "Ada", "--db", str(home / "bay.db"))
    try:
        terminal.type("55")
        time.sleep(0.3)
        terminal.type("65")
        first = terminal.wait_for("lives left")
        assert "Drills" not in first
        terminal.wait_for("held 3", "lives left 2")
    finally:
        terminal.kill()


def test_what_was_typed_before_it_answers_no_question_that_gives_up(home: Path) -> None:
    database = str(home / "bay.db")
    with_one_ball = Terminal(*CORRIDOR, "--player", "Ada", "--db", database)
    try:
        with_one_ball.type("5")
        with_one_ball.wait_for("held 1")
    finally:
        with_one_ball.kill()
    terminal = Terminal(*CORRIDOR, "--player", "Ada", "--db", database)
    try:
        # Here 2 and Enter would choose to give up, if the list took them.
        terminal.type("2\r4")
        terminal.wait_for("has an open run", "give up and start anew", "back")
        time.sleep(1.0)
        terminal.type("\r")
        # All three go to the run: short and left were typed, and Enter means nothing there.
        terminal.wait_for("lives left 2", "held 2")
    finally:
        terminal.kill()


def test_a_match_takes_what_was_typed_before_it(home: Path) -> None:
    people = ("--player", "Ada", "--player", "Ben", "--turns", "run")
    terminal = Terminal(*CORRIDOR, *people, "--db", str(home / "bay.db"))
    try:
        terminal.type("55")
        terminal.wait_for("held 2", "Ada")
    finally:
        terminal.kill()


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
    os.close(handle)
    gone = time.monotonic()
    try:
        while os.waitpid(pid, os.WNOHANG)[0] == 0:
            assert time.monotonic() - gone < 10 * ENDS_WITHIN, "it goes on without a terminal"
            time.sleep(0.02)
    except AssertionError:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        raise


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
