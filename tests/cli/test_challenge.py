"""`challenge` on the command line."""

from __future__ import annotations

import json
from pathlib import Path

from drillrunner.catalogue.loader import bundled, load
from drillrunner.practice.matches.challenge import read
from tests.cli.run import Run


def test_a_finished_run_goes_into_a_new_file(run: Run, home: Path) -> None:
    run("score hold-the-corridor 5 4 undo 5 void 5 4 6 0 --save --player Ines")
    (kept,) = run("history --json").json
    out = home / "to-tobi.json"
    said = run(f"challenge {kept['run']} --out {out}")
    assert said.code == 0
    assert "proves nothing against a cheat" in said.err
    got = read(out.read_text(encoding="utf-8"), load([bundled("games")]).games)
    assert (got.name, got.run.score) == ("Ines", kept["score"])
    assert json.loads(run(f"challenge {kept['run']}").out)["score"] == kept["score"]
    assert run(f"challenge {kept['run']} --out {out}").code == 2


def test_a_run_that_can_not_be_sent_gets_one_line(run: Run) -> None:
    assert run("challenge 7").code == 2
    run("score hold-the-corridor 5 4 --save --player Ines")
    (kept,) = run("history --json").json
    said = run(f"challenge {kept['run']}")
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert "not finished" in said.err
