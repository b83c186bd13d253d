from __future__ import annotations

import pytest

from tests.cli.run import Run


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """The command line, in this process."""
    return Run(capsys)
