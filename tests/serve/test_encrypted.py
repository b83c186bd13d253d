"""Certificates that are none; `test_between_bays` plays over an encrypted connection."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from drillrunner.cli.main import main

pytestmark = pytest.mark.skipif(shutil.which("openssl") is None, reason="there is no openssl")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--certificate", "{certificate}"], "expected both or none"),
        (["--certificate", "{certificate}", "--key", "{certificate}"], "belongs to it, in PEM"),
        (["--certificate", "nothing.pem", "--key", "{key}"], "No such file"),
    ],
)
def test_a_certificate_that_can_not_be_used_is_one_line(
    pair: tuple[Path, Path], words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    certificate, key = pair
    filled = [word.format(certificate=certificate, key=key) for word in words]
    assert main(["serve", "--port", "0", *filled]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1
