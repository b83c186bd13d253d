"""Looking back: runs, bests, entries and shots. All are queries; nothing here is a second truth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Table, bindparam, case, func, select
from sqlalchemy.sql.elements import ColumnElement

from drillrunner.rules import Aim
from drillrunner.rules.run import Entry, Kind, Standing
from drillrunner.rules.shot import NearLie
from drillrunner.store import shapes, sql
from drillrunner.store import tables as t
from drillrunner.store.database import Prepared
from drillrunner.store.errors import DAMAGES, StoreError
from drillrunner.store.opened import Opened
from drillrunner.store.shapes import (
    AIM_COLUMNS,
    SHOT_COLUMNS,
    Best,
    DayOfRuns,
    StoredEntry,
    StoredRun,
    StoredShot,
    aim,
    parsed,
    shot,
    stored_drill,
    stored_run,
)
from drillrunner.store.sound import sound
from drillrunner.store.stored import decimal, moment, stamp

PAGE = 500
"""How many shots are read at a time while the newest that count are gathered."""


def columns(table: Table, names: Iterable[str]) -> list[ColumnElement[Any]]:
    """Columns of a table by name."""
    return [table.c[name] for name in names]


@lru_cache
def _prepared(text: str) -> Prepared:
    return Prepared(text)


def asked(connection: Connection, text: str, values: Mapping[str, Any]) -> Sequence[Any]:
    """The rows that one of the questions of `sql` brings."""
    return _prepared(text).rows(connection, values)


IS_PLAYER = t.player.c.id == bindparam("player")
IS_RUN = t.run.c.id == bindparam("run")


def runs(
    connection: Connection, limit: int | None = None, is_open: bool = False, **ways: str | None
) -> tuple[StoredRun, ...]:
    """Runs, newest first, by any of `sql.WAYS` that is not `None`."""
    given = _given(**ways)
    asked = frozenset((*given, "open") if is_open else given)
    values: dict[str, Any] = given if limit is None else {**given, "limit": limit}
    return _stored(connection, _prepared(sql.runs(asked, limit is not None)), values)


def _stored(
    connection: Connection, asked: Prepared, values: Mapping[str, Any]
) -> tuple[StoredRun, ...]:
    """Runs from rows of `sql.RUN`. A drill as set is wide, and read once for all of its runs."""
    rows = asked.rows(connection, values)
    drill = _prepared(sql.DRILL)
    drills = {
        number: row
        for number in {row[0] for row in rows}
        for row in drill.rows(connection, {"number": number})
    }
    made = {
        number: next(sound(connection, "drill as set", [row], stored_drill), None)
        for number, row in drills.items()
    }
    usable = ((*row[1:], row[0]) for row in rows if made[row[0]] is not None)
    return tuple(
        sound(connection, "run", usable, lambda row: stored_run(row[:-1], made[row[-1]] or ()))
    )


def best(connection: Connection, player: str, fingerprint: str, but: str = "") -> Best | None:
    """A player's best on a drill as set, leaving out the run `but`."""
    values = {"player": player, "fingerprint": fingerprint, "but": but}
    row = _prepared(sql.BEST).row(connection, values)
    found = [] if row is None else [row]
    return next(sound(connection, "best of run", found, shapes.best_of), None)


_SHOT = columns(t.entry, SHOT_COLUMNS)
_AIM = columns(t.entry, AIM_COLUMNS)
_AIMED = len(AIM_COLUMNS)
_ENTRIES = Prepared(
    select(
        *columns(
            t.entry, ("seq", "at", "at_offset", "kind", "text", "club", "swing", "match_order")
        ),
        *_AIM,
        *_SHOT,
    )
    .select_from(t.entry.join(t.run))
    .where(IS_RUN)
    .order_by(t.entry.c.seq)
)


def entries(connection: Connection, run: str) -> tuple[StoredEntry, ...]:
    """The entries of a run in order, each with how it stands. Raises StoreError for a damaged one.

    None can be left out of a run: the others would mean something else.
    """
    rows = _ENTRIES.rows(connection, {"run": run})
    try:
        return _made(rows)
    except DAMAGES as error:
        said = (str(error).splitlines() or [type(error).__name__])[0]
        raise StoreError(f"run {run}: an entry of it is damaged: {said}") from error


def _made(rows: Sequence[Any]) -> tuple[StoredEntry, ...]:
    stands = Standing.of([Kind(row[3]) for row in rows])
    return tuple(
        StoredEntry(
            seq,
            moment(at, offset),
            Kind(kind),
            text,
            shot(*rest[_AIMED:]) if kind == Kind.SHOT else None,
            live,
            counts,
            void,
            club,
            swing,
            aim(*rest[:_AIMED]) if kind == Kind.SHOT else None,
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


_SHOT_OF = (
    select(
        t.entry.c.number,
        t.entry.c.run,
        t.run.c.id,
        (t.run.c.undone + t.run.c.voided).label("changed"),
        *columns(t.entry, ("seq", "at", "at_offset", "club", "swing")),
        *columns(t.drill_as_set, ("unit", "asks", "direction", "lost_counts")),
        # Few widths were measured: only those of them bring the drill along.
        case((t.drill_as_set.c.as_set.like(bindparam("measured")), t.drill_as_set.c.as_set)),
        *_AIM,
        *_SHOT,
    )
    .select_from(t.entry.join(t.run).join(t.drill_as_set))
    .where(
        t.entry.c.player == select(t.player.c.number).where(IS_PLAYER).scalar_subquery(),
        t.entry.c.kind == "shot",
        t.entry.c.number < bindparam("before"),
    )
    .order_by(t.entry.c.number.desc())
    .limit(bindparam("limit"))
)
_SHOTS = Prepared(
    _SHOT_OF.where(t.entry.c.club == bindparam("club"), t.entry.c.swing == bindparam("swing"))
)
_HOLING = Prepared(_SHOT_OF.where(t.entry.c.aim_lie == bindparam("lie")))
_KINDS = Prepared(
    select(t.entry.c.seq, t.entry.c.kind)
    .where(t.entry.c.run == bindparam("run"))
    .order_by(t.entry.c.seq)
)
_LAST = Prepared(select(func.max(t.entry.c.number)))


def _counting(
    connection: Connection, query: Prepared, wanted: Mapping[str, Any], limit: int | None
) -> Iterator[Sequence[Any]]:
    """Rows of shots, newest first, without those that were undone or are void."""
    counting: dict[int, Collection[int]] = defaultdict(frozenset)
    size = PAGE if limit is None else max(1, min(limit, PAGE))
    before = (_LAST.value(connection) or 0) + 1
    while True:
        values = {**wanted, "before": before, "limit": size, "measured": '%"width_error"%'}
        rows = query.rows(connection, values)
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
    shot_aim = aim(*row[14 : 14 + _AIMED])
    if row[13] is not None:
        shot_aim = _measured(row[13], shot_aim)
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
        shot_aim,
        shot(*row[14 + _AIMED :]),
    )


@lru_cache(maxsize=256)
def _measured(as_set: str, shot_aim: Aim) -> Aim:
    """An aim with what its width may be off, as its drill was set."""
    error = parsed(as_set).get("aim", {}).get("width_error")
    exact_error = None if error is None else Decimal(str(error))
    return replace(shot_aim, width_error=exact_error)


class RunStore(Opened):
    """Reads what was played."""

    def open_run(self, player_id: str, drill_id: str) -> StoredRun | None:
        """The player's open run of a drill; there is one at most, not counting deciders."""
        with self.database.reading() as connection:
            found = runs(connection, 1, True, player=player_id, drill=drill_id)
        return found[0] if found else None

    def open_runs(self, player_id: str | None = None) -> tuple[StoredRun, ...]:
        """Open runs, newest first, without deciders."""
        with self.database.reading() as connection:
            return runs(connection, None, True, player=player_id)

    def best(self, player_id: str, fingerprint: str) -> Best | None:
        """A player's best on a drill as set."""
        with self.database.reading() as connection:
            return best(connection, player_id, fingerprint)

    def bests(self, player_id: str | None = None, drill_id: str | None = None) -> tuple[Best, ...]:
        """Everyone's bests, or one player's, on all drills or one."""
        with self.database.reading() as connection:
            given = _given(player=player_id, drill=drill_id)
            rows = _prepared(sql.bests(frozenset(given))).rows(connection, given)
            return tuple(sound(connection, "best of run", rows, shapes.best_of))

    def history(
        self,
        drill_id: str | None = None,
        player_id: str | None = None,
        limit: int | None = None,
        *,
        fingerprint: str | None = None,
        session_id: str | None = None,
        match_id: str | None = None,
        club: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> tuple[StoredRun, ...]:
        """Runs, newest first, the open ones too. since, until: when they began, the end left out.

        Raises ValueError for a time without its zone.
        """
        with self.database.reading() as connection:
            return runs(
                connection,
                limit,
                drill=drill_id,
                player=player_id,
                fingerprint=fingerprint,
                session=session_id,
                match=match_id,
                club=club,
                since=_utc(since),
                until=_utc(until),
            )

    def settings(
        self,
        drill_id: str | None = None,
        player_id: str | None = None,
        *,
        club: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> tuple[StoredRun, ...]:
        """The drills as set that were played: the newest run of each, newest first."""
        given = _given(
            drill=drill_id, player=player_id, club=club, since=_utc(since), until=_utc(until)
        )
        with self.database.reading() as connection:
            return _stored(connection, _prepared(sql.settings(frozenset(given))), given)

    def days(self, player_id: str | None = None) -> tuple[DayOfRuns, ...]:
        """What was played on each local day, newest first."""
        with self.database.reading() as connection:
            given = _given(player=player_id)
            rows = _prepared(sql.days(frozenset(given))).rows(connection, given)
            return tuple(DayOfRuns(str(day), int(balls), int(runs)) for day, balls, runs in rows)

    def run(self, run_id: str) -> StoredRun | None:
        """A run by id."""
        with self.database.reading() as connection:
            found = runs(connection, run=run_id)
        return found[0] if found else None

    def run_of(self, run_id: str) -> StoredRun:
        """As `run`. Raises StoreError if there is none."""
        found = self.run(run_id)
        if found is None:
            raise StoreError(f"no run {run_id}: look for it with drillrunner history")
        return found

    def entries(self, run_id: str) -> tuple[StoredEntry, ...]:
        """A run's entries in order, each with how it stands; its game need not be there."""
        with self.database.reading() as connection:
            return entries(connection, run_id)

    def recent_shots(
        self, player_id: str, club: str, swing: str = "full", limit: int | None = 2000
    ) -> tuple[StoredShot, ...]:
        """A player's balls that count, with one club and swing, newest first."""
        with self.database.reading_of(player_id) as connection:
            wanted = {"player": player_id, "club": club, "swing": swing}
            counting = _counting(connection, _SHOTS, wanted, limit)
            return tuple(islice(sound(connection, "entry", counting, _stored_shot), limit))

    def recent_strokes(
        self, player_id: str, lie: NearLie, limit: int | None = 2000
    ) -> tuple[StoredShot, ...]:
        """A player's balls that count and were played to the hole from a lie, newest first."""
        with self.database.reading_of(player_id) as connection:
            counting = _counting(connection, _HOLING, {"player": player_id, "lie": lie}, limit)
            return tuple(islice(sound(connection, "entry", counting, _stored_shot), limit))


def _given(**ways: str | None) -> dict[str, str]:
    """Those ways that were named."""
    return {way: value for way, value in ways.items() if value is not None}


def _utc(moment: datetime | None) -> str | None:
    """A moment as the tables hold one."""
    return None if moment is None else stamp(moment)[0]
