"""`phones` on the command line: who may come in, a new PIN, a phone that is lost."""

from __future__ import annotations

import io
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from drillrunner.serve.pins import is_pin
from drillrunner.store.store import Store
from tests.cli.run import Run

PIN, OTHER = "271828", "314159"
ROOT = Path(__file__).parents[2]


@pytest.fixture
def database(tmp_path: Path) -> str:
    """With Ines, and a phone of hers."""
    path = str(tmp_path / "phones.db")
    with Store.open(path) as store:
        ines = store.add_player("Ines")
        _, phone = store.phones.new("Android")
        store.phones.belongs(phone.hash, ines.id)
    return path


def kept(database: str) -> str | None:
    with Store.open(database) as store:
        ines = store.player("Ines")
        assert ines is not None
        return store.phones.pin_of(ines.id)


def test_phones_are_listed_and_signed_out_by_name(database: str, run: Run) -> None:
    (phone,) = run("phones --json --db", [database]).json
    assert (phone["player"], phone["about"]) == ("Ines", "Android")
    assert phone["phone"] in run("phones --db", [database]).out
    wrong = run("phones --sign-out lost --db", [database])
    assert wrong.code == 2
    assert f"no phone 'lost': known are {phone['phone']}" in wrong.err
    assert run("phones --db", [database], "--sign-out", [phone["phone"]]).code == 0
    assert run("phones --db", [database]).code == 1


def test_a_pin_from_a_pipe(database: str, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    for typed, code, said in ((PIN, 0, "a new PIN"), ("12", 2, "6 to 12"), ("", 0, "no PIN")):
        monkeypatch.setattr("sys.stdin", io.StringIO(f"{typed}\n"))
        told = run("phones --pin-of Ines --db", [database])
        assert told.code == code
        assert said in told.out + told.err
        had = kept(database)
        assert (had is not None and is_pin(PIN, had)) == (typed != "")
    assert "no player 'Bo'" in run("phones --pin-of Bo --db", [database]).err


@pytest.mark.parametrize(("again", "code"), [(PIN, 0), (OTHER, 2)])
def test_nobody_sees_a_pin_that_is_typed_twice(database: str, again: str, code: int) -> None:
    ours, theirs = pty.openpty()
    words = ["-m", "drillrunner", "phones", "--pin-of", "Ines", "--db", database]
    command = subprocess.Popen(
        [sys.executable, *words],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        cwd=ROOT,
        start_new_session=True,
    )
    os.close(theirs)
    said = b""
    answers = [(b"New PIN of Ines", PIN), (b"once more", again)]
    try:
        while True:
            said += os.read(ours, 1024)
            if answers and answers[0][0] in said and said.endswith(b": "):
                os.write(ours, f"{answers.pop(0)[1]}\n".encode())
    except OSError:  # The other end is closed.
        pass
    finally:
        os.close(ours)
    assert (command.wait(), answers) == (code, []), said
    assert PIN.encode() not in said
    assert (kept(database) is None) == (code != 0)
