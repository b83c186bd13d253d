"""What an export holds, read and checked: from one JSON text, or line by line from a file."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any, NamedTuple

from sqlalchemy import Table

from drillrunner.catalogue.courses import from_kept
from drillrunner.catalogue.drill import from_stored
from drillrunner.catalogue.fields import Faulty
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.scorecard import card_of
from drillrunner.store import tables as t
from drillrunner.store.errors import StoreError
from drillrunner.store.exchange import FORMAT, TABLES, VALUES, VERSION, Row, name_column, read_row
from drillrunner.store.replay import Replay, Typed
from drillrunner.store.shapes import SHOT_COLUMNS
from drillrunner.store.stored import same_name, stamp

SUMMARY = ("counted", "voided", "undone", "score", "finished", "ended")
"""What a run's row says of its entries, and is worked out again."""

Document = dict[str, list[Row]]
"""Table to rows, as `read` checked them: values as they lie in the database, but for the names."""

TYPED = ("kind", "text", *SHOT_COLUMNS)
"""What of an entry makes the run."""

PLACE = ("run", "seq", "at", "at_offset")
"""Of an entry which it is and when; what else it says others say, too."""

_PLACE = re.compile(
    r'\{"run": "([0-9A-Za-z-]{1,100})", "seq": (0|[1-9][0-9]{0,8}), "at": "([0-9T:.+-]{1,40})", '
)
"""How an entry begins where `exchange.write` wrote it."""
_PERHAPS_AGAIN = re.compile(r'\\|"(?:run|seq|at)"')
"""What may give the place once more, which JSON takes then in place of the first."""
_REMEMBERED = 10_000
"""What so many entries say but for their places is remembered, since it is said again and again."""


class EntryRead(NamedTuple):
    """An entry as it was read: its place, then names and values of the other columns that it has.

    run: by its name. names, values: shared by all entries that say the same.
    """

    run: str
    seq: int
    at: str
    at_offset: int
    names: tuple[str, ...]
    values: tuple[Any, ...]


def entry_read(row: Row) -> EntryRead:
    """From a row of a document."""
    said = {n: value for n, value in row.items() if value is not None and n not in PLACE}
    place = row["run"], row["seq"], row["at"], row["at_offset"]
    return EntryRead(*place, tuple(said), tuple(said.values()))


def read(text: str) -> Document:
    """The rows that a document holds, checked one by one. Raises StoreError at the first fault."""
    found = _parsed(text)
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise StoreError("expected an export written by `drillrunner export --format json`")
    if found.get("version") != VERSION:
        raise StoreError(f"expected version {VERSION} of an export: update drillrunner")
    return checked(found)


def _parsed(text: str) -> Any:
    try:
        return _JSON.decode(text)
    except (ValueError, RecursionError, InvalidOperation) as error:
        raise StoreError(f"expected an export in JSON: {error}") from None


def _refused(text: str) -> Any:
    raise ValueError(f"{text} is no number")


_JSON = json.JSONDecoder(parse_float=Decimal, parse_constant=_refused)


def checked(found: Mapping[str, Any]) -> Document:
    """The rows of a document as it stands in JSON, whose lists it takes over. Raises StoreError."""
    document: Document = {}
    for table in TABLES:
        rows = found.get(table.name, [])
        if not isinstance(rows, list):
            raise StoreError(f"{table.name}: expected a list")
        # Each row makes way for its checked one: a long document is in memory once.
        for at, row in enumerate(rows):
            rows[at] = read_row(table, row, at + 1)
        document[table.name] = rows
    _agree(document)
    return document


class NotInLines(Exception):
    """A file is no export as `write` makes it, line by line; it may still be one."""


class Lines:
    """An export that is read line by line, table after table, in their order."""

    def __init__(self, lines: Iterator[str]) -> None:
        self._lines = lines
        if _line(next(lines, "")) != f'{{"format": "{FORMAT}", "version": {VERSION},':
            raise NotInLines
        self._head = _line(next(lines, ""))

    def document(self) -> Document:
        """All tables before the entries, checked. Raises StoreError, NotInLines."""
        document: Document = {}
        for table in TABLES:
            if table is not t.entry:
                document[table.name] = list(self._rows(table))
        _agree(document)
        return document

    def entries(self) -> Iterator[EntryRead]:
        """The entries, checked, as they are read: after `document`. Raises as that does."""
        remembered: dict[str, tuple[tuple[str, ...], tuple[Any, ...]]] = {}
        for at, text in self._texts(t.entry):
            place = _PLACE.match(text)
            rest = "" if place is None else text[place.end() :]
            said = remembered.get(rest)
            when = None if place is None or said is None else _when(place[3])
            if place is not None and said is not None and when is not None:
                yield EntryRead(place[1], int(place[2]), *when, *said)
                continue
            entry = entry_read(read_row(t.entry, _decoded(text), at))
            if place is not None and not _PERHAPS_AGAIN.search(rest):
                if len(remembered) >= _REMEMBERED:
                    remembered.clear()
                remembered[rest] = entry.names, entry.values
            yield entry
        if self._head != "}" or any(self._lines):
            raise NotInLines

    def _rows(self, table: Table) -> Iterator[Row]:
        for at, text in self._texts(table):
            yield read_row(table, _decoded(text), at)

    def _texts(self, table: Table) -> Iterator[tuple[int, str]]:
        """The lines of a table, each one row, with its place from 1."""
        text, begins = self._head, f'"{table.name}": ['
        if text not in (f"{begins}]", f"{begins}],"):
            if text != begins:
                raise NotInLines
            for at, text in enumerate(map(_line, self._lines), 1):
                yield at, text.removesuffix(",").removesuffix("]")
                if not text.endswith("},"):
                    break
        self._head = _line(next(self._lines, ""))
        # A comma stands where another list follows, and only there.
        if not text.endswith("]" if self._head == "}" else "],"):
            raise NotInLines


def _line(text: str) -> str:
    return text.removesuffix("\n")


def _decoded(text: str) -> Any:
    """One row as it stands in JSON. Raises NotInLines."""
    try:
        row, end = _JSON.raw_decode(text)
    except (ValueError, RecursionError, InvalidOperation):
        raise NotInLines from None
    if end != len(text):
        raise NotInLines
    return row


def _when(text: str) -> tuple[str, int] | None:
    """A moment as it is stored, where it is one."""
    try:
        return stamp(datetime.fromisoformat(text))
    except (ValueError, OverflowError):
        return None


def _key(table: Table, row: Row) -> tuple[Any, ...] | None:
    """What makes a row of the document one of a kind."""
    if name_column(table) in table.columns and table is not t.club:
        return (row[name_column(table)],)
    keys = {
        t.club: ("player", "id"),
        t.event: ("session", "seq"),
        t.round_event: ("round", "seq"),
        t.seat: ("match", "player"),
        t.entry: ("run", "seq"),
    }
    return tuple(row[name] for name in keys[table]) if table in keys else None


def _names_agree(document: Document) -> None:
    """Every row is there once, and every row that another one names is there."""
    known: dict[str, set[Any]] = {}
    for table in TABLES:
        seen: set[Any] = set()
        for at, row in enumerate(document.get(table.name, ()), 1):
            for value in VALUES[table.name]:
                named = row[value.name]
                if (
                    value.into is not None
                    and named is not None
                    and (named,) not in known[value.into]
                ):
                    raise StoreError(f"{table.name} {at}: {value.name}: no such {value.into}")
            key = _key(table, row)
            if key is not None and key in seen:
                raise StoreError(f"{table.name} {at}: it is in the document twice")
            seen.add(key)
        known[table.name] = seen
    keys = [same_name(row["name"]) for row in document[t.player.name]]
    twice = {name for name in keys if keys.count(name) > 1} if len(set(keys)) < len(keys) else None
    if twice:
        raise StoreError(f"player: two are called {min(twice)!r:.60}: expected each name once")


def _agree(document: Document) -> None:
    _names_agree(document)
    _rounds_make_sense(document)


def _rounds_make_sense(document: Document) -> None:
    """Every round is on a course that can be, and all that was told of it can be told."""
    told: dict[str, list[Row]] = defaultdict(list)
    for row in document[t.round_event.name]:
        told[row["round"]].append(row)
    for at, row in enumerate(document[t.round.name], 1):
        try:
            date.fromisoformat(row["day"])
            if row["as_played"] is not None:
                from_kept(row["as_played"]).tee(row["tee"])
            rows = sorted(told[row["id"]], key=lambda one: int(one["seq"]))
            card_of((one["kind"], json.loads(one["data"])) for one in rows)
        except (ValueError, LookupError, Faulty) as error:
            said = str(error).splitlines() or [type(error).__name__]
            raise StoreError(f"round {at}: it can't be: {said[0]}") from None


def check(document: Document, games: Mapping[str, LoadedGame]) -> None:
    """Play every run again whose game is here. Raises StoreError at one that does not add up."""
    adds_up = AddsUp(document, games)
    entries: dict[str, list[Row]] = defaultdict(list)
    for row in document[t.entry.name]:
        entries[row["run"]].append(row)
    for run in document[t.run.name]:
        rows = sorted(entries[run["id"]], key=lambda row: int(row["seq"]))
        adds_up(run, [(row["seq"], *(row[name] for name in TYPED)) for row in rows])


class AddsUp:
    """Tells whether the entries of a run give what its row says. Raises StoreError where not."""

    def __init__(self, document: Document, games: Mapping[str, LoadedGame]) -> None:
        self._settings = {row["digest"]: row for row in document[t.drill_as_set.name]}
        self._at = {row["id"]: at for at, row in enumerate(document[t.run.name], 1)}
        self._digests = {row["id"]: row["drill_as_set"] for row in document[t.run.name]}
        self._games = games
        self._known: dict[str, Replay] = {}

    def __call__(self, run: Row, typed: Sequence[Typed]) -> None:
        """run: a row of the document. typed: sequence number, then `TYPED`, of each entry."""
        where = f"run {self._at[run['id']]}"
        if not typed:
            raise StoreError(f"{where}: expected its entries, and there are none")
        if (run["ended"] is None) != (run["ended_at"] is None) or (
            run["ended_by"] is not None and run["ended_by"] not in {row[0] for row in typed}
        ):
            raise StoreError(f"{where}: its end does not fit its entries")
        digest = self._digests[run["id"]]
        setting = self._settings[digest]
        game = self._games.get(setting["game"])
        if game is None or game.hash != setting["game_hash"] or run["broken"] is not None:
            return
        try:
            if digest not in self._known:
                drill = from_stored(setting["as_set"], game.cls, game.hash)
                self._known[digest] = Replay(drill)
            known = self._known[digest]
            found = known.follows((row[1:] for row in typed), run["tally"], run["decider"])
        except Exception as error:  # a game may raise anything
            said = (str(error).splitlines() or [type(error).__name__])[0]
            raise StoreError(f"{where}: its entries do not make a run: {said}") from None
        wrong = [name for name in SUMMARY if run[name] != found[name]]
        if wrong or known.drill.fingerprint != setting["fingerprint"]:
            name = wrong[0] if wrong else "drill"
            raise StoreError(f"{where}: it does not add up: its entries give another {name}")
