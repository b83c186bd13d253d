"""Looking back: runs, bests, entries and shots. All are queries; nothing here is a second truth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Table, TextClause, bindparam, func, select, text
from sqlalchemy.sql.elements import ColumnElement
from sqlalchemy.sql.selectable import Select

from drillrunner.rules.run import Entry, Kind, Standing
from drillrunner.store import shapes
from drillrunner.store import tables as t
from drillrunner.store.database import Prepared
from drillrunner.store.shapes import (
    AIM_COLUMNS,
    BEST_COLUMNS,
    DRILL_COLUMNS,
    RUN_COLUMNS,
    SHOT_COLUMNS,
    Best,
    DayOfRuns,
    Row,
    StoredEntry,
    StoredRun,
    StoredShot,
    aim,
    shot,
    stored_drill,
    stored_run,
)
from drillrunner.store.stored import decimal, moment

PAGE = 500
"""How many shots are read at a time while the newest that count are gathered."""


def columns(table: Table, names: Iterable[str]) -> list[ColumnElement[Any]]:
    """Columns of a table by name."""
    return [table.c[name] for name in names]


def _columns(names: Iterable[str]) -> list[ColumnElement[Any]]:
    """Columns by the names of their table and their own."""
    parts = (name.split(".") for name in names)
    return [t.metadata.tables[table].c[column] for table, column in parts]


JOINED = t.run.join(t.player).join(t.drill_as_set)
_RUNS = select(t.run.c.drill_as_set, *_columns(RUN_COLUMNS)).select_from(JOINED)
_BESTS = select(*_columns(BEST_COLUMNS)).select_from(JOINED)
_DRILL = Prepared(
    select(*_columns(DRILL_COLUMNS)).where(t.drill_as_set.c.number == bindparam("number"))
)
WAYS: dict[str, ColumnElement[bool] | TextClause] = {
    "run": t.run.c.id == bindparam("run"),
    "drill": t.run.c.drill == bindparam("drill"),
    "player": t.player.c.id == bindparam("player"),
    "fingerprint": t.run.c.fingerprint == bindparam("fingerprint"),
    "session": t.run.c.session_id == bindparam("session"),
    "match": t.run.c.match_id == bindparam("match"),
    "club": t.drill_as_set.c.club == bindparam("club"),
    "since": t.run.c.started >= bindparam("since"),
    "until": t.run.c.started < bindparam("until"),
    # In the words of the index on open runs, or SQLite would not see that it serves.
    "open": text("run.ended IS NULL AND NOT run.decider"),
}
"""What runs can be asked for by."""


@lru_cache
def _runs(ways: frozenset[str], limited: bool) -> Prepared:
    query = _RUNS.where(*(WAYS[way] for way in sorted(ways)))
    # Open runs are few and have an index: the sum keeps SQLite from going through all in order.
    order = t.run.c.number + 0 if "open" in ways else t.run.c.number
    query = query.order_by(order.desc())
    return Prepared(query.limit(bindparam("limit")) if limited else query)


def runs(
    connection: Connection, limit: int | None = None, is_open: bool = False, **ways: str | None
) -> tuple[StoredRun, ...]:
    """Runs, newest first, by any of `WAYS` that is not `None`."""
    given = {way: value for way, value in ways.items() if value is not None}
    asked = frozenset((*given, "open") if is_open else given)
    values: dict[str, Any] = {**given, "limit": limit}
    return _stored(connection, _runs(asked, limit is not None).rows(connection, values))


def _stored(connection: Connection, rows: Sequence[Row]) -> tuple[StoredRun, ...]:
    """Runs from rows of `_RUNS`. A drill as set is wide, and read once for all of its runs."""
    drills = {
        number: stored_drill(row)
        for number in {row[0] for row in rows}
        for row in _DRILL.rows(connection, {"number": number})
    }
    return tuple(stored_run(row[1:], drills[row[0]]) for row in rows)


@lru_cache
def _settings(ways: frozenset[str]) -> Prepared:
    """The newest run of each drill as set: one step into an index for each of them."""
    inner = t.run.alias()
    known = t.drill_as_set
    settings = select(known.c.fingerprint).distinct()
    newest = select(func.max(inner.c.number))
    for way in sorted(ways):
        if way == "club":
            settings = settings.where(known.c.club == bindparam(way))
        elif way == "drill":
            settings = settings.where(known.c.drill == bindparam(way))
        elif way == "player":
            number = select(t.player.c.number).where(WAYS[way]).scalar_subquery()
            newest = newest.where(inner.c.player == number)
        elif way == "since":
            newest = newest.where(inner.c.started >= bindparam(way))
        elif way == "until":
            newest = newest.where(inner.c.started < bindparam(way))
    each = settings.subquery()
    first = newest.where(inner.c.fingerprint == each.c.fingerprint).correlate(each)
    numbers = select(first.scalar_subquery()).select_from(each)
    return Prepared(_RUNS.where(t.run.c.number.in_(numbers)).order_by(t.run.c.number.desc()))


def settings(connection: Connection, **ways: str | None) -> tuple[StoredRun, ...]:
    """The newest run of each drill as set, newest first, by player, drill, club, since, until."""
    given = {way: value for way, value in ways.items() if value is not None}
    return _stored(connection, _settings(frozenset(given)).rows(connection, given))


@lru_cache
def _days(ways: frozenset[str]) -> Prepared:
    day = func.coalesce(t.visit.c.day, func.substr(t.run.c.started, 1, 10))
    query = (
        select(day, func.sum(t.run.c.counted + t.run.c.voided), func.count())
        .select_from(t.run.join(t.player).outerjoin(t.visit, t.visit.c.id == t.run.c.visit_id))
        .where(*(WAYS[way] for way in sorted(ways)))
    )
    return Prepared(query.group_by(day).order_by(day.desc()))


def days(connection: Connection, player: str | None = None) -> tuple[DayOfRuns, ...]:
    """What was played on each local day, newest first."""
    given = {} if player is None else {"player": player}
    rows = _days(frozenset(given)).rows(connection, given)
    return tuple(DayOfRuns(str(day), int(balls), int(runs)) for day, balls, runs in rows)


_BEST = Prepared(
    _BESTS.where(
        t.run.c.player == select(t.player.c.number).where(WAYS["player"]).scalar_subquery(),
        WAYS["fingerprint"],
        t.run.c.rank.is_not(None),
        t.run.c.id != bindparam("but"),
    )
    .order_by(t.run.c.rank, t.run.c.ended_by)
    .limit(1)
)


def best(connection: Connection, player: str, fingerprint: str, but: str = "") -> Best | None:
    """A player's best on a drill as set, leaving out the run `but`."""
    values = {"player": player, "fingerprint": fingerprint, "but": but}
    row = _BEST.row(connection, values)
    return None if row is None else shapes.best(row)


def _bests() -> Select[Any]:
    """The best of each player on each drill as set: one step into the index for each pair."""
    candidate = t.run.alias()
    settings = select(t.drill_as_set.c.fingerprint).distinct().subquery()
    first = (
        select(candidate.c.number)
        .where(
            candidate.c.player == t.player.c.number,
            candidate.c.fingerprint == settings.c.fingerprint,
            candidate.c.rank.is_not(None),
        )
        .order_by(candidate.c.rank, candidate.c.ended_by)
        .limit(1)
        .correlate(t.player, settings)
        .scalar_subquery()
    )
    return select(first).select_from(t.player.join(settings, settings.c.fingerprint.is_not(None)))


@lru_cache
def _bests_by(ways: frozenset[str]) -> Prepared:
    query = _BESTS.where(t.run.c.number.in_(_bests()))
    return Prepared(
        query.where(*(WAYS[way] for way in sorted(ways))).order_by(t.run.c.drill, t.run.c.number)
    )


def bests(connection: Connection, **ways: str | None) -> tuple[Best, ...]:
    """The bests, by drill and then in the order in which they were begun."""
    given = {way: value for way, value in ways.items() if value is not None}
    return tuple(map(shapes.best, _bests_by(frozenset(given)).rows(connection, given)))


_SHOT = columns(t.entry, SHOT_COLUMNS)
_AIM = columns(t.entry, AIM_COLUMNS)
_ENTRIES = Prepared(
    select(
        *columns(
            t.entry, ("seq", "at", "at_offset", "kind", "text", "club", "swing", "match_order")
        ),
        *_AIM,
        *_SHOT,
    )
    .select_from(t.entry.join(t.run))
    .where(WAYS["run"])
    .order_by(t.entry.c.seq)
)


def entries(connection: Connection, run: str) -> tuple[StoredEntry, ...]:
    """The entries of a run in order, each with how it stands."""
    rows = _ENTRIES.rows(connection, {"run": run})
    stands = Standing.of([Kind(row[3]) for row in rows])
    return tuple(
        StoredEntry(
            seq,
            moment(at, offset),
            Kind(kind),
            text,
            shot(*rest[3:]) if kind == Kind.SHOT else None,
            live,
            counts,
            void,
            club,
            swing,
            aim(*rest[:3]) if kind == Kind.SHOT else None,
            match_order,
        )
        for (
            seq,
            at,
            offset,
            kind,
            text,
            club,
            swing,
            match_order,
            *rest,
        ), live, counts, void in zip(rows, stands.live, stands.counts, stands.voids, strict=True)
    )


def typed(stored: Sequence[StoredEntry]) -> tuple[Entry, ...]:
    """The entries as the rules know them."""
    return tuple(Entry(entry.kind, entry.text, entry.shot) for entry in stored)


_SHOTS = Prepared(
    select(
        t.entry.c.number,
        t.entry.c.run,
        t.run.c.id,
        (t.run.c.undone + t.run.c.voided).label("changed"),
        *columns(t.entry, ("seq", "at", "at_offset", "club", "swing")),
        *columns(t.drill_as_set, ("unit", "asks", "direction", "lost_counts")),
        *_AIM,
        *_SHOT,
    )
    .select_from(t.entry.join(t.run).join(t.drill_as_set))
    .where(
        t.entry.c.player == select(t.player.c.number).where(WAYS["player"]).scalar_subquery(),
        t.entry.c.club == bindparam("club"),
        t.entry.c.swing == bindparam("swing"),
        t.entry.c.kind == "shot",
        t.entry.c.number < bindparam("before"),
    )
    .order_by(t.entry.c.number.desc())
    .limit(bindparam("limit"))
)
_KINDS = Prepared(
    select(t.entry.c.seq, t.entry.c.kind)
    .where(t.entry.c.run == bindparam("run"))
    .order_by(t.entry.c.seq)
)
_LAST = Prepared(select(func.max(t.entry.c.number)))


def recent_shots(
    connection: Connection, player: str, club: str, swing: str, limit: int | None
) -> tuple[StoredShot, ...]:
    """A player's balls that count, with one club and swing, newest first."""
    found = (_stored_shot(row) for row in _counting(connection, player, club, swing, limit))
    return tuple(islice(found, limit))


def _counting(
    connection: Connection, player: str, club: str, swing: str, limit: int | None
) -> Iterator[Sequence[Any]]:
    """Rows of shots, newest first, without those that were undone or are void."""
    counting: dict[int, Collection[int]] = defaultdict(frozenset)
    size = PAGE if limit is None else max(1, min(limit, PAGE))
    before = (_LAST.value(connection) or 0) + 1
    while True:
        values = {"player": player, "club": club, "swing": swing, "before": before, "limit": size}
        rows = _SHOTS.rows(connection, values)
        for row in rows:
            number, run, changed, seq = row[0], row[1], row[3], row[4]
            if changed and run not in counting:
                counting[run] = _counts(connection, run)
            if not changed or seq in counting[run]:
                yield row
        if len(rows) < size:
            return
        before = number


def _counts(connection: Connection, run: int) -> Collection[int]:
    """The sequence numbers of a run's balls that count."""
    rows = _KINDS.rows(connection, {"run": run})
    stands = Standing.of([Kind(kind) for _, kind in rows])
    return {seq for (seq, _), counts in zip(rows, stands.counts, strict=True) if counts}


def _stored_shot(row: Sequence[Any]) -> StoredShot:
    number, _, run, _, seq, at, offset, club, swing, unit, asks, direction, lost = row[:13]
    return StoredShot(
        number,
        run,
        seq,
        moment(at, offset),
        club,
        swing,
        unit,
        asks,
        direction,
        decimal(lost),
        aim(*row[13:16]),
        shot(*row[16:]),
    )
