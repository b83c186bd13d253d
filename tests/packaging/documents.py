"""What each command prints with `--json`, seen by calling it on the demo's records."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from contextlib import redirect_stderr, redirect_stdout
from datetime import date
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from unittest import mock

from drillrunner.cli.main import main
from drillrunner.services.demo import build

LIKELY = "hold-the-corridor --beat 3 --bias 0 --spread 12"
DOCUMENTS: dict[str, tuple[str, str]] = {
    "score": ("hold-the-corridor 5 5 4 --save --player Ines", ""),
    "drills": ("", ""),
    "check": ("{home}/broken.toml", ""),
    "pattern": ("driver --player Ines", "one item a direction; figures at 80 %, in yards"),
    "chance": (LIKELY, ""),
    "tune": (f"{LIKELY} --chance 0.5", ""),
    "aim": (
        "--distance 210 --width 40",
        "in yards and degrees; the last two bound what was asked for",
    ),
    "holes": ("larch-bottom --hole 4", "aim in yards right of the middle"),
    "rounds": ("--player Ines", "newest first"),
    "index": ("--player Ines --goal 15 --rounds 3", "scores newest last"),
    "session --show": ("last", ""),
    "session --plans": ("", ""),
    "session --plan-only": ("--minutes 12 --balls 12", ""),
    "worth": ("", "low and high are null where the model's golfer stands in"),
    "standings": ("", ""),
    "leaders": ("hold-the-corridor", "the best first; equal scores share a place"),
    "share": ("Ines", ""),
    "best": ("--player Ines", ""),
    "history": ("--player Ines", ""),
    "history --run": ("{run}", "as above, and its entries"),
}
"""Command to what follows it, and a word on the document."""

SCORES = """date,gross,rating,slope
2026-04-01,94,73.0,125
2026-04-08,92,71.7,134
2026-04-15,96,71.5,125
"""

OPEN = {"readout", "setting", "inside", "counted", "aim", "more"}
"""Keys whose own keys follow from what was played."""

BY_ID = {("standings", "drills")}
"""Mappings from an id: command and key."""


def documents() -> dict[str, Any]:
    """The document of every command, read from a fresh copy of the demo."""
    found: dict[str, Any] = {}
    with TemporaryDirectory() as name:
        home = Path(name)
        build(home / "demo.db", date(2026, 5, 2))
        (home / "broken.toml").write_text("id = 3", "utf-8")
        (home / "scores.csv").write_text(SCORES, "utf-8")
        places = {
            "DRILLRUNNER_CONFIG": str(home / "config"),
            "DRILLRUNNER_DATA": str(home / "data"),
            "DRILLRUNNER_DB": str(home / "demo.db"),
        }
        with mock.patch.dict(os.environ, places):
            os.environ.pop("DRILLRUNNER_GAMES", None)
            with redirect_stdout(StringIO()):
                main(["share", "Ines", "yes"])
                main(["round", "--player", "Ines", "--scores", str(home / "scores.csv")])
            for command, (words, _) in DOCUMENTS.items():
                if command == "history --run":
                    words = found["history"][0]["run"]
                found[command] = printed(*command.split(), *words.format(home=home).split())
    return found


def printed(*words: str) -> Any:
    """The one document that a command prints."""
    out = StringIO()
    with redirect_stdout(out), redirect_stderr(StringIO()):
        main([*words, "--json"])
    return json.loads(out.getvalue())


def keys(command: str, document: Any, name: str = "") -> Iterator[str]:
    """The keys of a document in words: a list in `[ ]`, an object in `{ }`."""
    if isinstance(document, list):
        yield "["
        fullest = max(document, key=lambda one: len(str(one)), default=None)
        yield from keys(command, fullest)
        yield "]"
    elif isinstance(document, Mapping) and name not in OPEN:
        by_id = (command, name) in BY_ID
        if name:
            yield "{"
        for key, value in list(document.items())[: 1 if by_id else None]:
            yield "each id" if by_id else f"`{key}`"
            if isinstance(value, list | dict) and value and key not in OPEN:
                yield from _inner(command, value, "each id" if by_id else key)
        if name:
            yield "}"


def _inner(command: str, value: Any, name: str) -> Iterator[str]:
    plain = isinstance(value, list) and not isinstance(value[0], Mapping)
    if not plain:
        yield from keys(command, value, name)


def json_table() -> str:
    """One line a command: the keys of its document."""
    lines = ["| command | keys |", "| --- | --- |"]
    for command, document in documents().items():
        said = " ".join(keys(command, document))
        note = DOCUMENTS[command][1]
        lines.append(f"| `{command}` | {said}{'; ' if note else ''}{note} |")
    return "\n".join(lines)
