"""A challenge: one finished run in a small file, for a friend who is elsewhere.

The file is JSON; `challenge.schema.json` beside this module is its published schema. Its checksum
finds accidental damage and proves nothing against a cheat. Reading plays the entries through the
game again, and refuses a file that does not add up.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
)

from drillrunner.catalogue.drill import BadDrill, Drill, NeedsStock, from_stored
from drillrunner.catalogue.fields import line
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules import Ask, Entry, Kind, Refused, Run
from drillrunner.rules.keypad import read as read_typed
from drillrunner.rules.units import plain

LARGEST_FILE = 1_000_000
"""Characters in a file; the longest runs need a tenth of it."""

Line = Annotated[str, Field(max_length=500, pattern=r"^[^\x00-\x1f\x7f]*$")]


UNFINISHED = "its run is not finished, and only a finished one can be played against"


class BadChallenge(ValueError):
    """A file that can't be played against; one line says why."""


class Wrote(BaseModel):
    """One entry: what kind it was, and what was typed."""

    model_config = ConfigDict(extra="forbid", strict=True)

    kind: Literal["shot", "between", "undo", "void", "note", "give_up"]
    text: Line = ""


class ChallengeFile(BaseModel):
    """A run to play against. The checksum finds accidents; it proves nothing against a cheat."""

    model_config = ConfigDict(extra="forbid", strict=True, title="Challenge")

    format: Literal["drillrunner challenge"] = Field(description="What kind of file this is.")
    version: Literal[1] = Field(description="Of this format.")
    name: Annotated[Line, Field(min_length=1, max_length=40), AfterValidator(line)] = Field(
        description="Who sends the challenge."
    )
    at: AwareDatetime = Field(strict=False, description="When the run ended, ISO 8601 with offset.")
    drill: dict[str, Any] = Field(description="The drill as it was set, with every setting.")
    fingerprint: str = Field(
        pattern="^[0-9a-f]{64}$", description="Of the drill's setting: sha256, in hex."
    )
    tally: bool = Field(description="Typed afterwards, without the balls in between.")
    entries: list[Wrote] = Field(
        min_length=1, max_length=5000, description="All that was typed, in order."
    )
    score: int | float | None = Field(description="What the entries come to; null if to no score.")
    ended: Line = Field(description="Why the run ended, in words.")
    checksum: str = Field(
        pattern="^[0-9a-f]{64}$",
        description="sha256, in hex, of this document without its checksum: UTF-8 JSON with sorted "
        "keys and no white space. It finds accidents and proves nothing against a cheat.",
    )


@dataclass(frozen=True, slots=True)
class Challenge:
    """A challenge that adds up. run: the sender's, folded again."""

    name: str
    at: datetime
    drill: Drill
    run: Run

    @property
    def balls(self) -> tuple[Entry, ...]:
        """The balls that counted, in order: what the sender plays in a match, ball by ball."""
        pairs = zip(self.run.entries, self.run.counts, strict=True)
        return tuple(entry for entry, counts in pairs if counts)


def schema() -> str:
    """The JSON Schema of the file, as published beside this module."""
    document = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **ChallengeFile.model_json_schema(),
    }
    return json.dumps(document, indent=2) + "\n"


def write(name: str, at: datetime, drill: Drill, run: Run) -> str:
    """The text of a challenge. Raises BadChallenge if the run is not finished."""
    if not run.finished:
        raise BadChallenge(UNFINISHED)
    body = {
        "format": "drillrunner challenge",
        "version": 1,
        "name": name,
        "at": at.isoformat(),
        "drill": json.loads(drill.as_set()),
        "fingerprint": drill.fingerprint,
        "tally": run.tally,
        "entries": [{"kind": entry.kind.value, "text": entry.text} for entry in run.entries],
        "score": None if run.score is None else plain(run.score),
        "ended": run.ended,
    }
    text = json.dumps({**body, "checksum": checksum(body)}, indent=1, ensure_ascii=False) + "\n"
    again = _folded(drill, _validated(text))
    if (again.entries, again.state) != (run.entries, run.state):
        raise BadChallenge("its drill or game has changed since it was played")
    return text


def read(text: str, games: Mapping[str, LoadedGame]) -> Challenge:
    """The challenge that a text holds, with its run played through the game again.

    Raises BadChallenge: damaged, not a challenge, a game that is not here, a drill that was
    changed, or entries that do not give the score.
    """
    file = _validated(text)
    game = games.get(str(file.drill.get("game")))
    if game is None:
        raise BadChallenge(
            f"it is played by the game {file.drill.get('game')!r}, which is not here"
        )
    try:
        drill = from_stored(json.dumps(file.drill), game.cls, game.hash)
    except BadDrill as error:
        raise BadChallenge(f"its drill can't be played here: {error.problems[0]}") from None
    if drill.fingerprint != file.fingerprint:
        raise BadChallenge("its drill was changed: it is not the one that was played")
    run = _folded(drill, file)
    score = None if run.score is None else plain(run.score)
    if (score, run.ended) != (file.score, file.ended):
        raise BadChallenge(
            f"it does not add up: its entries give {_said(score, run.ended)}, "
            f"and it says {_said(file.score, file.ended)}"
        )
    return Challenge(file.name, file.at, drill, run)


def checksum(body: Mapping[str, Any]) -> str:
    """sha256, in hex, of a document without its checksum."""
    rest = {name: value for name, value in body.items() if name != "checksum"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode(errors="surrogatepass")).hexdigest()


def _validated(text: str) -> ChallengeFile:
    if len(text) > LARGEST_FILE:
        raise BadChallenge(
            f"expected a challenge, and this is longer than {LARGEST_FILE} characters"
        )
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadChallenge(f"expected a challenge in JSON: {error}") from None
    if not isinstance(document, dict) or document.get("format") != "drillrunner challenge":
        raise BadChallenge("expected a challenge written by `drillrunner challenge`")
    version = document.get("version")
    if type(version) is not int or version != 1:
        raise BadChallenge(f"expected version 1 of a challenge, not {version!r:.20}")
    if checksum(document) != document.get("checksum"):
        raise BadChallenge("damaged on its way: the checksum does not fit, ask for it again")
    try:
        return ChallengeFile.model_validate(document)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise BadChallenge(f"{where}: {first['msg']}") from None


def _entry(wrote: Wrote, ask: Ask) -> Entry:
    kind = Kind(wrote.kind)
    if kind is not Kind.SHOT:
        return Entry(kind, wrote.text)
    entry = read_typed(wrote.text, ask, sure=True)
    if entry.kind is not kind:
        raise Refused(f"{wrote.text!r} is no shot")
    return entry


def _folded(drill: Drill, file: ChallengeFile) -> Run:
    try:
        run = Run.begin(drill.game(), drill.between, file.tally)
        for wrote in file.entries:
            # What was typed is read as the station that was due then had it.
            run = run.add(_entry(wrote, run.ask))
    except (Refused, NeedsStock) as error:
        raise BadChallenge(f"its entries do not make a run: {error}") from None
    if not run.finished:
        raise BadChallenge(UNFINISHED)
    return run


def _said(score: int | float | None, ended: str | None) -> str:
    return f"{'no score' if score is None else score} ({ended})"
