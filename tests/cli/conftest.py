"""The command line in this process, as whole answers or as a plain triple."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.run import Run

Told = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Words as one line, or as a list to be taken as they are."""
    return Run(capsys)


@pytest.fixture
def told(run: Run) -> Told:
    """Words one by one; answers exit code, standard output and standard error."""

    def answer(*words: str) -> tuple[int, str, str]:
        said = run(list(words))
        return said.code, said.out, said.err

    return answer
