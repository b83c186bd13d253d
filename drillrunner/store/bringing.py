"""An export comes in: into any database, in one transaction, and once.

A file as `exchange.write` makes it is read line by line, so that a long one is never in memory
whole: its entries go to the database as they come, and every run is played again from there before
the transaction ends. Any other JSON that says the same is read whole.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby, islice
from pathlib import Path
from typing import Any

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Integer,
    MetaData,
    Table,
    UniqueConstraint,
    func,
    insert,
    select,
    update,
)

from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.run import GIVEN_UP, Kind
from drillrunner.store import giving
from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.documents import (
    SUMMARY,
    TYPED,
    AddsUp,
    Document,
    EntryRead,
    Lines,
    NotInLines,
    entry_read,
    read,
)
from drillrunner.store.entry_rows import ENTRY, Laid, lay, rank
from drillrunner.store.errors import StoreError
from drillrunner.store.exchange import (
    VALUES,
    Row,
    name_column,
    name_of,
    pairs,
)
from drillrunner.store.shapes import SHOT_COLUMNS
from drillrunner.store.stored import line, same_name

LATEST = {
    t.handicap.name: ("player",),
    t.stock.name: ("player", "club", "swing"),
    t.goal.name: ("player", "kind", "drill"),
    t.thought.name: ("player",),
}
"""Lists of which the newest row is in force, and what each list belongs to."""

LITERAL = {"literal_binds": True}

AT_ONCE = 10_000
"""Rows that are handed to the database together."""

SAME = ("seq", "kind", "text", "at", *SHOT_COLUMNS)
"""What makes two entries the same."""

incoming = Table(
    "incoming",
    MetaData(),
    *(Column(name, t.entry.c[name].type) for name in ENTRY),
    UniqueConstraint("run", "seq"),
    prefixes=["TEMPORARY"],
)
"""Entries of runs that are here already, until it is known whether those went on."""


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
    with database.writing() as connection:
        entries = map(entry_read, document[t.entry.name])
        return _Import(connection, document, games, entries).all()


def bring_in_file(database: Database, path: Path, games: Mapping[str, LoadedGame]) -> Brought:
    """As `bring_in`, from a file, which is read as it is taken in where it is in lines.

    Raises OSError and UnicodeDecodeError besides.
    """
    try:
        with path.open(encoding="utf-8-sig") as file:
            lines = Lines(file)
            document = lines.document()
            with database.writing() as connection:
                return _Import(connection, document, games, lines.entries()).all()
    except NotInLines:
        return bring_in(database, read(path.read_text(encoding="utf-8-sig")), games)


class _Import:
    """One import. The document's rows are taken over and changed."""

    def __init__(
        self,
        connection: Connection,
        document: Document,
        games: Mapping[str, LoadedGame],
        entries: Iterator[EntryRead],
    ) -> None:
        self.connection = connection
        self.document = document
        self.entries = entries
        self.adds_up = AddsUp(document, games)
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
        self._rounds()
        self._latest(t.goal)
        self._latest(t.thought)
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
        self._absent(table, (name_column(table),))
        self._look_up(table)

    def _sessions(self) -> None:
        for row in self._placed(t.session):
            row["player"] = self._whose(row["player"], ("session", row["id"]))
        self._add_absent(t.session, self.document[t.session.name], ("id",))
        self._look_up(t.session)

    def _rounds(self) -> None:
        for row in self._placed(t.round):
            row["player"] = self._whose(row["player"], ("round", row["id"]))
        self._add_absent(t.round, self.document[t.round.name], ("id",))
        self._look_up(t.round)
        self._tails_of_rounds()

    def _tails_of_rounds(self) -> None:
        """Of a round that is here too, what was told of it since; never what was told otherwise."""
        e = t.round_event.c
        here: dict[int, dict[int, tuple[Any, ...]]] = defaultdict(dict)
        for number, seq, *told in self.connection.execute(select(e.round, e.seq, e.kind, e.data)):
            here[number][seq] = tuple(told)
        coming: dict[int, list[Row]] = defaultdict(list)
        for row in self._placed(t.round_event):
            coming[row["round"]].append(row)
        new = []
        for number, rows in coming.items():
            known = here[number]
            if all(
                known.get(r["seq"], (r["kind"], r["data"])) == (r["kind"], r["data"]) for r in rows
            ):
                new += [row for row in rows if row["seq"] not in known]
            else:
                self.brought.notes.append(
                    "a round was told differently here since: it stays as it is here"
                )
        self._add(t.round_event, new)

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
        query = select(name_of(table), table.c.number)
        self.numbers[table.name] = pairs(self.connection, query)

    def _add(self, table: Table, rows: Iterable[Row]) -> None:
        added, rest = 0, iter(rows)
        while some := list(islice(rest, AT_ONCE)):
            self.connection.execute(insert(table), some)
            added += len(some)
        if added:
            self.brought.added[table.name] = added

    # -------------------------------------------------------------- runs and their entries

    def _runs(self) -> None:
        settings = {row["digest"]: row for row in self.document[t.drill_as_set.name]}
        for row in self.document[t.run.name]:
            setting = settings[row["drill_as_set"]]
            row["drill"], row["fingerprint"] = setting["drill"], setting["fingerprint"]
            row["rank"] = rank(row["score"], row["finished"], setting["better"], row["decider"])
        here = pairs(self.connection, select(t.run.c.id, t.run.c.number))
        rows = self._placed(t.run)
        for row in rows if self.given else ():
            match = row["match_id"]
            wider = ("session", row["session_id"]) if match is None else ("seat", match)
            row["player"] = self._whose(row["player"], ("run", row["id"]), wider)
        new = [row for row in rows if row["id"] not in here]
        giving_up = self._to_give_up(new)
        given_up = {"ended": GIVEN_UP, "finished": False, "rank": None}
        self._add(
            t.run,
            (
                {
                    **row,
                    "ended_by": None,
                    **(
                        {**given_up, "ended_at": row["started"]}
                        | {"ended_offset": row["started_offset"]}
                        if row["id"] in giving_up
                        else {}
                    ),
                }
                for row in new
            ),
        )
        self._look_up(t.run)
        numbers = self.numbers[t.run.name]
        incoming.create(self.connection)
        try:
            self._entries(rows, here)
            known = {numbers[row["id"]]: row for row in rows}
            for table, which in ((t.entry, set(known) - set(here.values())), (incoming, None)):
                self._check(table, known, which)
            longer = [row for row in rows if row["id"] in here and self._goes_on(row, here)]
            for row in longer:
                self._tail(row, numbers[row["id"]])
        finally:
            incoming.drop(self.connection)
        for row in longer:
            self._sum_up(row)
        for row in new:
            if row["id"] in giving_up:
                self._give_up(row, numbers[row["id"]])
        self._matches_went_on({row["match_id"] for row in (*new, *longer)})
        self._ends(
            (numbers[row["id"]], row["ended_by"])
            for row in (*new, *longer)
            if row["ended_by"] is not None and row["id"] not in giving_up
        )

    def _to_give_up(self, new: Iterable[Row]) -> set[str]:
        """Of the open runs that come in, those whose player has one of the drill open already."""
        query = select(t.run.c.player, t.run.c.drill).where(
            t.run.c.ended.is_(None), t.run.c.decider.is_(False)
        )
        open_here = {tuple(row) for row in self.connection.execute(query)}
        found = set()
        for row in new:
            if row["ended"] is not None or row["decider"]:
                continue
            if (row["player"], row["drill"]) not in open_here:
                open_here.add((row["player"], row["drill"]))
                continue
            found.add(row["id"])
            self.brought.notes.append(
                f"a run of {row['drill']} is open here too: the other one comes in as given up"
            )
        return found

    def _entries(self, rows: Iterable[Row], here: Mapping[str, int]) -> None:
        """Write the entries as they are read: of new runs to their place, of others aside."""
        runs = {
            row["id"]: (self.numbers[t.run.name][row["id"]], row["player"], row["id"] in here)
            for row in rows
        }
        added, at = 0, 0
        while batch := list(islice(self.entries, AT_ONCE)):
            placed: dict[bool, list[Laid]] = {False: [], True: []}
            for name, seq, moment, offset, names, values in batch:
                at += 1
                run = runs.get(name)
                if run is None:
                    raise StoreError(f"entry {at}: run: no such run")
                number, player, is_here = run
                placed[is_here].append((names, (number, player, seq, moment, offset, *values)))
            for is_here, table in ((False, t.entry), (True, incoming)):
                lay(self.connection, table, placed[is_here])
            added += len(placed[False])
        if added:
            self.brought.added[t.entry.name] = added

    def _check(self, table: Table, known: Mapping[int, Row], which: set[int] | None) -> None:
        """Play the runs again whose entries lie in a table. which: all of these have some."""
        columns = (table.c.run, table.c.seq, *(table.c[name] for name in TYPED))
        query = select(*columns).order_by(table.c.run, table.c.seq)
        if which is not None:
            query = query.where(table.c.run >= min(which, default=0))
        text = str(query.compile(dialect=self.connection.dialect, compile_kwargs=LITERAL))
        cursor = self.connection.connection.cursor()
        try:
            cursor.execute(text)
            rows = iter(lambda: cursor.fetchmany(AT_ONCE), [])
            seen = set()
            for run, typed in groupby((row for some in rows for row in some), lambda row: row[0]):
                if run in known and (which is None or run in which):
                    seen.add(run)
                    self.adds_up(known[run], [tuple(row[1:]) for row in typed])
        finally:
            cursor.close()
        for run in sorted((which or set()) - seen):
            self.adds_up(known[run], [])

    def _goes_on(self, row: Row, here: Mapping[str, int]) -> bool:
        """Whether a run goes on in the document from where it stands here."""
        number = here[row["id"]]
        have, come = (
            [
                tuple(found)
                for found in self.connection.execute(
                    select(*(table.c[name] for name in SAME))
                    .where(table.c.run == number)
                    .order_by(table.c.seq)
                )
            ]
            for table in (t.entry, incoming)
        )
        both = min(len(have), len(come))
        if have[:both] != come[:both]:
            self.brought.notes.append(
                f"run {row['id']} of {row['drill']} went on differently: it stays as it is here"
            )
            return False
        row["have"] = have[-1][0] if have else 0
        return len(come) > len(have)

    def _tail(self, row: Row, number: int) -> None:
        """The entries of a run that are not here yet."""
        columns = [incoming.c[name] for name in ENTRY]
        query = (
            select(*columns)
            .where(incoming.c.run == number, incoming.c.seq > row["have"])
            .order_by(incoming.c.seq)
        )
        done = self.connection.execute(insert(t.entry).from_select(list(ENTRY), query))
        added = self.brought.added
        added[t.entry.name] = added.get(t.entry.name, 0) + done.rowcount

    def _give_up(self, row: Row, number: int) -> None:
        """The entry with which a run that came in open is given up."""
        e = t.entry.c
        query = select(t.entry).where(e.run == number).order_by(e.seq.desc()).limit(1)
        last = self.connection.execute(query).mappings().one()
        end = dict.fromkeys(ENTRY) | {name: last[name] for name in ("run", "player", "at")}
        end |= {"at_offset": last["at_offset"], "seq": last["seq"] + 1, "text": ""}
        end["kind"] = Kind.GIVE_UP.value
        by = self.connection.execute(
            insert(t.entry).values(end).returning(t.entry.c.number)
        ).scalar_one()
        self.connection.execute(
            update(t.run)
            .where(t.run.c.number == number)
            .values(ended_by=by, ended_at=last["at"], ended_offset=last["at_offset"])
        )
        self.brought.added[t.entry.name] += 1

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

    def _sum_up(self, row: Row) -> None:
        names = (*SUMMARY, "rank", "ended_at", "ended_offset", "broken")
        self.connection.execute(
            update(t.run).where(t.run.c.id == row["id"]).values({n: row[n] for n in names})
        )

    def _ends(self, ends: Iterable[tuple[int, int]]) -> None:
        """Say of each run by which of its entries it ended."""
        sqlite = self.connection.dialect.name == "sqlite"
        mark = "?" if sqlite else "%s"
        cursor = self.connection.connection.cursor()
        cursor.executemany(
            "UPDATE run SET ended_by = (SELECT number FROM entry WHERE entry.run = run.number"
            f" AND entry.seq = {mark}) WHERE number = {mark}",
            [(seq, run) for run, seq in ends],
        )
        cursor.close()
