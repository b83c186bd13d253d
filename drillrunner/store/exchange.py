"""Everything in a database as one JSON document, and such a document into any database.

The document has one list for each table, one row a line, in the order of insertion. Numbers are in
the unit that stands beside them, times are ISO 8601 with their offset, rows name each other by
their lasting ids, and what is null is left out. Writing a database, reading that into an empty one
and writing again gives the same document.

What follows from something else is not in it: it is worked out again on the way in, and a run
whose game is here is played through it again.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    ColumnElement,
    Connection,
    Integer,
    Table,
    func,
    insert,
    select,
    update,
)

from drillrunner.catalogue.drill import Drill, from_stored
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.run import GIVEN_UP, Entry, Kind, Run
from drillrunner.rules.units import plain
from drillrunner.store import giving
from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.journal import follows, rank
from drillrunner.store.shapes import SHOT_COLUMNS, shot
from drillrunner.store.stored import (
    exact,
    hundredths,
    line,
    moment,
    prose,
    same_name,
    stamp,
)

FORMAT, VERSION = "drillrunner export", 1

TABLES: tuple[Table, ...] = (
    t.player,
    t.handicap,
    t.club,
    t.visit,
    t.session,
    t.event,
    t.stock,
    t.match,
    t.seat,
    t.drill_as_set,
    t.run,
    t.entry,
    t.given,
    t.owner,
)
"""Each after those that its rows name."""

NAMES = {t.drill_as_set.name: "digest"}
"""The column that names a row for good, where it is not `id`."""

SUMMARY = ("counted", "voided", "undone", "score", "finished", "ended")
LATEST = {t.handicap.name: ("player",), t.stock.name: ("player", "club", "swing")}
"""Lists of which the newest row is in force, and what each list belongs to."""

AT_ONCE = 10_000
"""Rows that are handed to the database together."""

Row = dict[str, Any]
Document = dict[str, list[Row]]
"""Table to rows, as `read` checked them: values as they lie in the database, but for the names."""


# ------------------------------------------------------------------ one value, both ways


@dataclass(frozen=True, slots=True)
class Value:
    """How one column is written and read. into: the table whose rows it names."""

    name: str
    needed: bool
    write: Callable[[Any], Any]
    read: Callable[[Any], Any]
    offset: str | None = None
    into: str | None = None


def _values(table: Table) -> tuple[Value, ...]:
    """The columns of a table that stand in the document, from what the table says of them."""
    offsets = {column.info.get("time") for column in table.columns}
    found = []
    for column in table.columns:
        name = column.name
        if name == "number" or name in offsets or column.info.get("follows"):
            continue
        into = next((key.column.table.name for key in column.foreign_keys), None)
        write, read = _ways(column)
        needed = not column.nullable
        found.append(Value(name, needed, write, read, column.info.get("time"), into))
    return tuple(found)


def _ways(column: Column[Any]) -> tuple[Callable[[Any], Any], Callable[[Any], Any]]:
    """How a column is written and read."""
    info = column.info
    if "choices" in info:
        return _same, _one_of(info["choices"])
    if "hundredths" in info:
        return _number, _hundredths(*info["hundredths"])
    if "json" in info:
        return json.loads, _canonical
    if isinstance(column.type, Boolean):
        return bool, _of(bool, "true or false")
    if isinstance(column.type, Integer) and not column.foreign_keys:
        return _same, _whole
    return _same, _text


def _same(value: Any) -> Any:
    return value


def _number(stored: int) -> int | float:
    return plain(exact(stored))


def _hundredths(least: int, most: int) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise ValueError("expected a number")
        kept = hundredths(value)
        if kept is None or not least <= kept <= most:
            raise ValueError(f"expected {_number(least)} to {_number(most)}")
        return kept

    return read


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > 2**31:
        raise ValueError("expected a whole number")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or len(value) > 100_000:
        raise ValueError("expected text")
    return prose(value, "text")


def _of(kind: type, words: str) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if not isinstance(value, kind):
            raise ValueError(f"expected {words}")
        return value

    return read


def _one_of(choices: tuple[Any, ...]) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if isinstance(value, bool) or value not in choices:
            raise ValueError(f"expected one of {', '.join(map(str, choices))}")
        return value

    return read


def _canonical(value: Any) -> str:
    if not isinstance(value, dict | list):
        raise ValueError("expected an object")
    return prose(_json(value, separators=(",", ":")), "object")


def _json(value: Any, **how: Any) -> str:
    return json.dumps(value, ensure_ascii=False, default=plain, **how)


VALUES = {table.name: _values(table) for table in TABLES}


# ------------------------------------------------------------------ out


def write(database: Database) -> Iterator[str]:
    """The document, line by line, from one unchanging view of the database."""
    with database.reading() as connection:
        names: dict[str, dict[int, str]] = {
            table.name: _pairs(connection, select(table.c.number, _name(table)))
            for table in TABLES
            if _name_column(table) in table.columns and "number" in table.columns
        }
        ends = _ends(connection)
        yield f'{{"format": "{FORMAT}", "version": {VERSION}'
        for table in TABLES:
            yield f',\n"{table.name}": ['
            for at, row in enumerate(connection.execute(_ordered(table)).mappings()):
                written = _written(table, dict(row), names)
                if table is t.run and row["ended_by"] is not None:
                    written["ended_by"] = ends.get(row["ended_by"])
                yield f"{',' if at else ''}\n{_json(written)}"
            yield "]"
        yield "}\n"


def _written(table: Table, row: Mapping[str, Any], names: Mapping[str, Mapping[int, str]]) -> Row:
    written: Row = {}
    for value in VALUES[table.name]:
        stored = row[value.name]
        if stored is None:
            continue
        if value.offset is not None:
            written[value.name] = moment(stored, row[value.offset]).isoformat()
        elif value.into is not None and isinstance(stored, int):
            written[value.name] = names[value.into][stored]
        else:
            written[value.name] = value.write(stored)
    return written


def _pairs(connection: Connection, query: Any) -> dict[Any, Any]:
    return {row[0]: row[1] for row in connection.execute(query)}


def _name_column(table: Table) -> str:
    return NAMES.get(table.name, "id")


def _name(table: Table) -> Any:
    return table.c[_name_column(table)]


def _ordered(table: Table) -> Any:
    order = [table.c.number] if "number" in table.columns else list(table.primary_key.columns)
    return select(table).order_by(*order)


def _ends(connection: Connection) -> dict[int, int]:
    """Of the entries that ended a run: number to sequence number."""
    query = select(t.entry.c.number, t.entry.c.seq).join(
        t.run, t.run.c.ended_by == t.entry.c.number
    )
    return _pairs(connection, query)


# ------------------------------------------------------------------ in


def read(text: str) -> Document:
    """The rows that a document holds, checked one by one. Raises StoreError at the first fault."""
    try:
        found = json.loads(text, parse_float=Decimal, parse_constant=_refused)
    except (ValueError, RecursionError, InvalidOperation) as error:
        raise StoreError(f"expected an export in JSON: {error}") from None
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise StoreError("expected an export written by `drillrunner export --format json`")
    if found.get("version") != VERSION:
        raise StoreError(f"expected version {VERSION} of an export: update drillrunner")
    return checked(found)


def checked(found: Mapping[str, Any]) -> Document:
    """The rows of a document as it stands in JSON, whose lists it takes over. Raises StoreError."""
    document: Document = {}
    for table in TABLES:
        rows = found.get(table.name, [])
        if not isinstance(rows, list):
            raise StoreError(f"{table.name}: expected a list")
        # Each row makes way for its checked one: a long document is in memory once.
        for at, row in enumerate(rows):
            rows[at] = _row(table, row, at + 1)
        document[table.name] = rows
    _names_agree(document)
    keys = [same_name(row["name"]) for row in document[t.player.name]]
    if twice := [name for name in keys if keys.count(name) > 1]:
        raise StoreError(f"player: two are called {twice[0]!r:.60}: expected each name once")
    return document


def _refused(text: str) -> Any:
    raise ValueError(f"{text} is no number")


def _row(table: Table, row: Any, at: int) -> Row:
    where = f"{table.name} {at}"
    if not isinstance(row, dict):
        raise StoreError(f"{where}: expected an object")
    values = VALUES[table.name]
    unknown = sorted(set(row) - {value.name for value in values})
    if unknown:
        raise StoreError(f"{where}: unknown field {unknown[0]!r:.60}")
    kept: Row = {}
    for value in values:
        given = row.get(value.name)
        try:
            if given is None:
                if value.needed:
                    raise ValueError("missing: expected a value")
                kept[value.name] = None
                if value.offset is not None:
                    kept[value.offset] = None
            elif value.offset is not None:
                kept[value.name], kept[value.offset] = stamp(datetime.fromisoformat(_text(given)))
            elif value.into is not None:
                kept[value.name] = _text(given)
            else:
                kept[value.name] = value.read(given)
        except (ValueError, StoreError, OverflowError, InvalidOperation) as error:
            raise StoreError(f"{where}: {value.name}: {error}, not {given!r:.60}") from None
    return kept


def _key(table: Table, row: Row) -> tuple[Any, ...] | None:
    """What makes a row of the document one of a kind."""
    if _name_column(table) in table.columns and table is not t.club:
        return (row[_name_column(table)],)
    keys = {
        t.club: ("player", "id"),
        t.event: ("session", "seq"),
        t.seat: ("match", "player"),
        t.entry: ("run", "seq"),
    }
    return tuple(row[name] for name in keys[table]) if table in keys else None


def _names_agree(document: Document) -> None:
    """Every row is there once, and every row that another one names is there."""
    known: dict[str, set[Any]] = {}
    for table in TABLES:
        seen: set[Any] = set()
        for at, row in enumerate(document[table.name], 1):
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


def check(document: Document, games: Mapping[str, LoadedGame]) -> None:
    """Play every run again whose game is here. Raises StoreError at one that does not add up."""
    settings = {row["digest"]: row for row in document[t.drill_as_set.name]}
    entries = _by_run(document)
    drills: dict[str, Drill] = {}
    for at, run in enumerate(document[t.run.name], 1):
        where = f"run {at}"
        typed = entries[run["id"]]
        if not typed:
            raise StoreError(f"{where}: expected its entries, and there are none")
        if (run["ended"] is None) != (run["ended_at"] is None) or (
            run["ended_by"] is not None and run["ended_by"] not in {row["seq"] for row in typed}
        ):
            raise StoreError(f"{where}: its end does not fit its entries")
        setting = settings[run["drill_as_set"]]
        game = games.get(setting["game"])
        if game is None or game.hash != setting["game_hash"] or run["broken"] is not None:
            continue
        try:
            digest = setting["digest"]
            if digest not in drills:
                drills[digest] = from_stored(setting["as_set"], game.cls, game.hash)
            drill = drills[digest]
            folded = Run.fold(
                drill.game(),
                [_entry(row) for row in typed],
                drill.between,
                run["tally"],
            )
        except Exception as error:  # a game may raise anything
            raise StoreError(f"{where}: its entries do not make a run: {_first(error)}") from None
        found = follows(folded, run["decider"])
        wrong = [name for name in SUMMARY if run[name] != found[name]]
        if wrong or drill.fingerprint != setting["fingerprint"]:
            name = wrong[0] if wrong else "drill"
            raise StoreError(f"{where}: it does not add up: its entries give another {name}")


def _first(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]


def _entry(row: Row) -> Entry:
    seen = shot(*(row[name] for name in SHOT_COLUMNS)) if row["kind"] == Kind.SHOT else None
    return Entry(Kind(row["kind"]), row["text"], seen)


def _by_run(document: Document) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = defaultdict(list)
    for row in document[t.entry.name]:
        found[row["run"]].append(row)
    for rows in found.values():
        rows.sort(key=lambda row: row["seq"])
    return found


@dataclass
class Brought:
    """What an import did: rows added by table, and in words what was not simply added."""

    added: dict[str, int] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


def bring_in(database: Database, document: Document, games: Mapping[str, LoadedGame]) -> Brought:
    """Add what is not there yet, in one transaction. Raises StoreError; then nothing was added.

    A player of the same name is the same person; what was never said here of them or of a day is
    taken over. Of a run that is longer here or there the longer
    is kept; one that went on differently stays as it is here. Where a run of the same player and
    drill is open here, one that is open there comes in as given up.
    """
    check(document, games)
    with database.writing() as connection:
        return _Import(connection, document).all()


class _Import:
    """One import. The document's rows are taken over and changed."""

    def __init__(self, connection: Connection, document: Document) -> None:
        self.connection = connection
        self.document = document
        self.brought = Brought()
        self.numbers: dict[str, dict[str, int]] = {}
        """For each table, the number here of the row that the document calls by a name."""
        self.visits: dict[str, str] = {}
        self.given: dict[tuple[str, str | None], list[tuple[str, int, int, int]]] = defaultdict(
            list
        )
        """Of what was given: when, its number, who gave and who took."""

    def all(self) -> Brought:
        fresh = giving.owner(self.connection) is None
        self._players()
        self._latest(t.handicap)
        self._absent(t.club, ("player", "id"))
        self._visits()
        self._named(t.match)
        self._given()
        self._sessions()
        self._absent(t.event, ("session", "seq"))
        self._ended_since(t.session)
        self._latest(t.stock)
        self._seats()
        self._ended_since(t.match)
        self._named(t.drill_as_set)
        self._runs()
        if fresh:
            # Whose the records are is said by those who keep them, not by what comes in.
            self._add(t.owner, self._placed(t.owner))
        return self.brought

    def _given(self) -> None:
        """What was given there is given here, too, and what was given here holds for what comes."""
        self._absent(t.given, ("id",))
        g = t.given.c
        query = select(g.kind, g.what, g.at, g.number, g.giver, g.taker)
        for kind, what, at, number, giver, taker in self.connection.execute(query):
            self.given[kind, what].append((at, number, giver, taker))
        for kind, what in dict.fromkeys(
            (row["kind"], row["what"]) for row in self.document[t.given.name]
        ):
            givers = {giver for *_, giver, _ in self.given[kind, what]}
            for giver in givers if kind == "seat" else (None,):
                now = giving.whose(self.connection, kind, what, giver)
                if now is not None and (taker := self._whose(now, (kind, what))) != now:
                    self._move(kind, what, now, taker)

    def _whose(self, player: int, *gifts: tuple[str, str | None]) -> int:
        """Whose it is after all that was given, in the order of time."""
        chain = [one for gift in gifts for one in self.given.get(gift, ())]
        for *_, giver, taker in sorted(chain):
            player = taker if player == giver else player
        return player

    def _move(self, kind: str, what: str, giver: int, taker: int) -> None:
        try:
            giving.move(self.connection, kind, what, giver, taker)
        except StoreError as error:
            self.brought.notes.append(f"{kind} {what} stays whose it is here: {error}")

    def _players(self) -> None:
        here = self.connection.execute(select(t.player.c.id, t.player.c.key, t.player.c.number))
        found = here.all()
        by_id = {id: number for id, _, number in found}
        by_key = {key: number for _, key, number in found}
        new, same = [], {}
        for row in self.document[t.player.name]:
            row["name"] = line(row["name"], "player", 40)
            row["key"] = same_name(row["name"])
            number = by_id.get(row["id"], by_key.get(row["key"]))
            if number is None:
                new.append(row)
            else:
                same[row["id"]] = number
                self._learn(t.player, t.player.c.number == number, row)
                if row["id"] not in by_id:
                    self.brought.notes.append(f"{row['name']} is taken for the {row['name']} here")
        self._add(t.player, new)
        self._look_up(t.player)
        self.numbers[t.player.name] |= same

    def _visits(self) -> None:
        """One visit of a player on a day."""
        rows = self._placed(t.visit)
        query = select(t.visit.c.player, t.visit.c.day, t.visit.c.id)
        here: dict[tuple[int, str], str] = {
            (player, day): id for player, day, id in self.connection.execute(query)
        }
        new = []
        for row in rows:
            kept = here.setdefault((row["player"], row["day"]), row["id"])
            self.visits[row["id"]] = kept
            if kept == row["id"]:
                new.append(row)
            self._learn(t.visit, t.visit.c.id == kept, row)
        self._add_absent(t.visit, new, ("id",))
        for table in (t.session, t.run):
            for row in self.document[table.name]:
                row["visit_id"] = self.visits.get(row["visit_id"])

    def _seats(self) -> None:
        """A seat is there once, whoever sits in it now."""
        rows = self._placed(t.seat)
        names = {number: id for id, number in self.numbers[t.match.name].items()}
        query = select(t.seat.c.match, t.seat.c.place)
        here = {tuple(row) for row in self.connection.execute(query)}
        for row in rows:
            row["player"] = self._whose(row["player"], ("seat", names[row["match"]]))
        new = [row for row in rows if (row["match"], row["place"]) not in here]
        self._add_absent(t.seat, new, ("match", "player"))

    def _learn(self, table: Table, which: ColumnElement[bool], row: Row) -> None:
        """What was never said here and is said there."""
        said = {
            value.name: func.coalesce(table.c[value.name], row[value.name])
            for value in VALUES[table.name]
            if not value.needed and row[value.name] is not None
        }
        if said:
            self.connection.execute(update(table).where(which).values(said))

    def _named(self, table: Table) -> None:
        self._absent(table, (_name_column(table),))
        self._look_up(table)

    def _sessions(self) -> None:
        for row in self._placed(t.session):
            row["player"] = self._whose(row["player"], ("session", row["id"]))
        self._add_absent(t.session, self.document[t.session.name], ("id",))
        self._look_up(t.session)

    def _absent(self, table: Table, key: Sequence[str]) -> None:
        self._add_absent(table, self._placed(table), key)

    def _add_absent(self, table: Table, rows: Iterable[Row], key: Sequence[str]) -> None:
        query = select(*(table.c[name] for name in key))
        here = {tuple(row) for row in self.connection.execute(query)}
        new = {tuple(row[name] for name in key): row for row in rows}
        self._add(table, [row for name, row in new.items() if name not in here])

    def _latest(self, table: Table) -> None:
        """Rows of a list whose last one is in force: those from after the last one here."""
        whose = LATEST[table.name]
        here: dict[tuple[Any, ...], set[str]] = defaultdict(set)
        for *owner, at in self.connection.execute(select(*(table.c[w] for w in whose), table.c.at)):
            here[tuple(owner)].add(at)
        new, late = [], 0
        for row in self._placed(table):
            times = here[tuple(row[name] for name in whose)]
            if row["at"] > max(times, default=""):
                new.append(row)
            else:
                late += row["at"] not in times
        self._add(table, new)
        if late:
            name = table.name.replace("_", " ")
            self.brought.notes.append(f"{name}: {late} left out, older than the one in force here")

    def _ended_since(self, table: Table) -> None:
        """What is open here and has ended there has ended."""
        for row in self.document[table.name]:
            if row["ended_at"] is not None:
                names = ("ended_at", "ended_offset")
                self.connection.execute(
                    update(table)
                    .where(table.c.id == row["id"], table.c.ended_at.is_(None))
                    .values({name: row[name] for name in names})
                )

    def _placed(self, table: Table) -> list[Row]:
        """The document's rows with numbers for the names of those that they name."""
        rows = self.document[table.name]
        for value in VALUES[table.name]:
            column = table.c[value.name]
            if value.into is not None and isinstance(column.type, Integer):
                numbers = self.numbers[value.into]
                for row in rows:
                    row[value.name] = numbers[row[value.name]]
        return rows

    def _look_up(self, table: Table) -> None:
        query = select(_name(table), table.c.number)
        self.numbers[table.name] = _pairs(self.connection, query)

    def _add(self, table: Table, rows: Sequence[Row]) -> None:
        for at in range(0, len(rows), AT_ONCE):
            self.connection.execute(insert(table), rows[at : at + AT_ONCE])
        if rows:
            self.brought.added[table.name] = len(rows)

    # -------------------------------------------------------------- runs and their entries

    def _runs(self) -> None:
        entries = _by_run(self.document)
        settings = {row["digest"]: row for row in self.document[t.drill_as_set.name]}
        for row in self.document[t.run.name]:
            setting = settings[row["drill_as_set"]]
            row["drill"], row["fingerprint"] = setting["drill"], setting["fingerprint"]
            row["rank"] = rank(row["score"], row["finished"], setting["better"], row["decider"])
        here = self._numbers_of_runs()
        rows = self._placed(t.run)
        for row in rows if self.given else ():
            match = row["match_id"]
            wider = ("session", row["session_id"]) if match is None else ("seat", match)
            row["player"] = self._whose(row["player"], ("run", row["id"]), wider)
        new = [row for row in rows if row["id"] not in here]
        self._give_up_where_open(new, entries)
        ended = {row["id"]: row.pop("ended_by") for row in rows}
        self._add(t.run, [{**row, "ended_by": None} for row in new])
        longer = [row for row in rows if row["id"] in here and self._goes_on(row, here, entries)]
        self._look_up(t.run)
        numbers = self.numbers[t.run.name]
        players = {row["id"]: row["player"] for row in rows}
        started = {row["id"]: 0 for row in new} | {row["id"]: row["have"] for row in longer}
        typed = [
            row
            for row in self.document[t.entry.name]
            if row["run"] in started and row["seq"] > started[row["run"]]
        ]
        for row in typed:
            row["player"], row["run"] = players[row["run"]], numbers[row["run"]]
        self._add(t.entry, typed)
        for row in longer:
            self._sum_up(row)
        self._matches_went_on({row["match_id"] for row in (*new, *longer)})
        for id in started:
            if ended[id] is not None:
                self._end(numbers[id], ended[id])

    def _numbers_of_runs(self) -> dict[str, int]:
        query = select(t.run.c.id, t.run.c.number)
        return _pairs(self.connection, query)

    def _give_up_where_open(self, new: Iterable[Row], entries: dict[str, list[Row]]) -> None:
        query = select(t.run.c.player, t.run.c.drill).where(
            t.run.c.ended.is_(None), t.run.c.decider.is_(False)
        )
        open_here = {tuple(row) for row in self.connection.execute(query)}
        for row in new:
            if row["ended"] is not None or row["decider"]:
                continue
            if (row["player"], row["drill"]) not in open_here:
                open_here.add((row["player"], row["drill"]))
                continue
            last = entries[row["id"]][-1]
            end = {**dict.fromkeys(last), "run": row["id"], "seq": last["seq"] + 1, "text": ""}
            end |= {"kind": Kind.GIVE_UP.value, "at": last["at"], "at_offset": last["at_offset"]}
            self.document[t.entry.name].append(end)
            row |= {"ended": GIVEN_UP, "ended_by": end["seq"], "finished": False}
            row |= {"ended_at": last["at"], "ended_offset": last["at_offset"]}
            self.brought.notes.append(
                f"a run of {row['drill']} is open here too: the other one comes in as given up"
            )

    def _matches_went_on(self, ids: set[str | None]) -> None:
        """What is kept of a match follows its entries."""
        for row in self.document[t.match.name]:
            if row["id"] in ids:
                names = ("data", "ended_at", "ended_offset")
                self.connection.execute(
                    update(t.match)
                    .where(t.match.c.id == row["id"])
                    .values({name: row[name] for name in names})
                )

    def _goes_on(self, row: Row, here: Mapping[str, int], entries: Mapping[str, list[Row]]) -> bool:
        """Whether a run goes on in the document from where it stands here."""
        names = ("seq", "kind", "text", "at", *SHOT_COLUMNS)
        query = select(*(t.entry.c[name] for name in names)).where(t.entry.c.run == here[row["id"]])
        have = [tuple(found) for found in self.connection.execute(query.order_by(t.entry.c.seq))]
        come = [tuple(entry[name] for name in names) for entry in entries[row["id"]]]
        both = min(len(have), len(come))
        if have[:both] != come[:both]:
            self.brought.notes.append(
                f"run {row['id']} of {row['drill']} went on differently: it stays as it is here"
            )
            return False
        row["have"] = have[-1][0] if have else 0
        return len(come) > len(have)

    def _sum_up(self, row: Row) -> None:
        names = (*SUMMARY, "rank", "ended_at", "ended_offset", "broken")
        self.connection.execute(
            update(t.run).where(t.run.c.id == row["id"]).values({n: row[n] for n in names})
        )

    def _end(self, run: int, seq: int) -> None:
        by = select(t.entry.c.number).where(t.entry.c.run == run, t.entry.c.seq == seq)
        self.connection.execute(
            update(t.run).where(t.run.c.number == run).values(ended_by=by.scalar_subquery())
        )
