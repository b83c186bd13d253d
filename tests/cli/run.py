"""Run the command line in this process, and what it said."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import pytest

from drillrunner.cli.main import main


@dataclass(frozen=True)
class Said:
    """Exit code, standard output and standard error of one command."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on standard output."""
        return json.loads(self.out)


class Run:
    """`run("score drill", "5 5")`: words split at blanks, lists taken as they are."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *words: str | list[str]) -> Said:
        argv = [w for word in words for w in (word.split() if isinstance(word, str) else word)]
        self._capsys.readouterr()
        code = main(argv)
        said = self._capsys.readouterr()
        assert "Traceback" not in said.err
        return Said(code, said.out, said.err)
