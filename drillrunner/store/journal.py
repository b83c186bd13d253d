"""A run being played: each entry is on disk before anybody sees that it was taken."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import zip_longest
from typing import Any, NamedTuple

from sqlalchemy import Connection, bindparam, func, insert, select, update

from drillrunner.catalogue.drill import Drill, NeedsStock
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.run import GIVEN_UP, Entry, Kind, Refused, Run
from drillrunner.rules.station import Ask
from drillrunner.store import people, records
from drillrunner.store import tables as t
from drillrunner.store.as_set import drill_as_stored, kept_setting
from drillrunner.store.database import ANEW, Database, Prepared
from drillrunner.store.entry_rows import (
    Summary,
    aim_row,
    all_but_number,
    broken_game,
    broken_summary,
    entry_row,
    follows,
    standing,
)
from drillrunner.store.errors import (
    BrokenGame,
    Conflict,
    Moved,
    PlayedElsewhere,
    StoreError,
)
from drillrunner.store.once import Once
from drillrunner.store.opened import player_number
from drillrunner.store.shapes import Best, PlayerInfo, StoredRun
from drillrunner.store.stored import moment, stamp
from drillrunner.store.visits import visit_of_the_day

Clock = Callable[[], datetime]
Along = Callable[[Connection], None]
"""Something else that is to be on disk if, and only if, an entry is."""
ELSEWHERE = "this run is being played elsewhere"


_ADD_RUN = Prepared(insert(t.run).returning(t.run.c.number), all_but_number(t.run))
_ADD_ENTRY = Prepared(insert(t.entry).returning(t.entry.c.number), all_but_number(t.entry))
_SUMMARY = (
    "counted",
    "voided",
    "undone",
    "score",
    "rank",
    "finished",
    "ended",
    "ended_at",
    "ended_offset",
    "ended_by",
    "broken",
)
_SUM_UP = Prepared(
    update(t.run)
    .where(t.run.c.number == bindparam("at_number"))
    .values({name: bindparam(f"to_{name}") for name in _SUMMARY})
)
_NEXT_IN_MATCH = Prepared(
    select(func.coalesce(func.max(t.entry.c.match_order), 0) + 1)
    .select_from(t.entry.join(t.run))
    .where(t.run.c.match_id == bindparam("match"))
)
_FIND_RUN = Prepared(
    select(
        *records.columns(
            t.run,
            (
                "number",
                "player",
                "score",
                "ended",
                "ended_at",
                "ended_offset",
                "ended_by",
                "broken",
            ),
        )
    ).where(t.run.c.id == bindparam("run"))
)
_STANDS = Prepared(
    select(
        t.run.c.player,
        t.player.c.id,
        select(func.max(t.entry.c.seq))
        .where(t.entry.c.run == t.run.c.number)
        .correlate(t.run)
        .scalar_subquery(),
    )
    .join_from(t.run, t.player)
    .where(t.run.c.number == bindparam("number"), t.run.c.id == bindparam("run"))
)
"""Whose a run is, and how many entries it has."""


@dataclass(frozen=True, slots=True)
class End:
    """When a run ended, and by which entry (its number among all); `None` if by none of them."""

    at: datetime
    by: int | None


class Typed(NamedTuple):
    """An entry, when it was typed, and what was asked then."""

    entry: Entry
    at: datetime
    ask: Ask


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a run lies. number: `None` until its first entry. end: `None` while it is open."""

    number: int | None
    player: int
    end: End | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """A stored run's place and what its row says of its end. score: in hundredths."""

    placed: Placed
    score: int | None
    ended: str | None
    broken: str | None


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What a run belongs to besides its player and drill."""

    session_id: str | None = None
    block: str | None = None
    match_id: str | None = None
    decider: bool = False


class Playing:
    """One run, being played or looked at again after its end.

    run: as it stands on disk. best_before: the player's best on this drill as set, without this
    run. broken: where and why the game raised, if it did; such a run takes no more entries.
    """

    def __init__(
        self,
        database: Database,
        clock: Clock,
        player: PlayerInfo,
        drill: Drill,
        run: Run,
        id: str,
        placed: Placed,
        best_before: Best | None,
        about: Circumstances,
        times: Sequence[datetime] = (),
    ) -> None:
        self.id = id
        self.player = player
        self.drill = drill
        self.run = run
        self.best_before = best_before
        self.broken: str | None = None
        self.about = about
        self._database = database
        self._clock = clock
        self._placed = placed
        self._times = list(times)
        self._once = Once(database)

    @property
    def begun(self) -> bool:
        """Whether anything of this run is on disk."""
        return self._placed.number is not None

    @property
    def is_best(self) -> bool:
        """Whether this run now holds the player's best."""
        with self._database.reading() as connection:
            best = records.best(connection, self.player.id, self.drill.fingerprint)
        return best is not None and best.run == self.id

    def append(self, entry: Entry, along: Along | None = None, at: datetime | None = None) -> Run:
        """Take one entry: it is on disk when this returns the run with it.

        along: written in the same transaction, before it; if that raises, nothing is written.
        at: when it was typed; now, unless given.
        Raises Refused if it can't be taken; PlayedElsewhere if another terminal was first, after
        reading again what lies there; BrokenGame if the game raised, which ends the run with the
        entry kept; StoreError if it could not be written. After a StoreError nothing has changed,
        and the entry can be given again.
        """
        return self.append_all((entry,), None if at is None else (at,), along)

    def append_all(
        self,
        entries: Sequence[Entry],
        at: Sequence[datetime] | None = None,
        along: Along | None = None,
    ) -> Run:
        """Take several entries in one transaction, as `append` does; all or none.

        at: when each was typed; now, unless given. If the game raises, the entries up to the one
        that it raised at are kept.
        """
        if self.broken is not None:
            raise Refused("this run ended because its game raised: start a new one")
        if not entries:
            return self.run
        times = [self._clock()] * len(entries) if at is None else at
        run, ended_with, typed = self.run, None, list[Typed]()
        for index, (entry, time) in enumerate(zip(entries, times, strict=False)):
            typed.append(Typed(entry, time, run.ask))
            try:
                was_over, run = run.over, run.add(entry)
                summary = follows(run, self.about.decider)
            except Refused:
                raise
            except Exception as error:
                raise self._break(error, typed) from error
            if summary["ended"] is not None and not was_over:
                ended_with = index
        self._write(typed, summary, ended_with, along)
        self.run = run
        return run

    def fail(self, error: Exception) -> BrokenGame:
        """End the run as broken because its game raised outside of `append`; the error to show.

        Raises StoreError if that could not be written.
        """
        return self._break(error, ())

    def _break(self, error: Exception, typed: Sequence[Typed]) -> BrokenGame:
        broken = broken_game(error, self.drill)
        if typed or (self.begun and self._placed.end is None):
            kinds = [entry.kind for entry in (*self.run.entries, *(t.entry for t in typed))]
            summary = broken_summary(kinds, broken)
            self._write(typed, summary, len(typed) - 1 if typed else None)
        self.broken = str(broken)
        return broken

    def _write(
        self,
        typed: Sequence[Typed],
        summary: Summary,
        ended_with: int | None,
        along: Along | None = None,
    ) -> None:
        """Put entries and what follows from them on disk in one transaction.

        ended_with: which of these entries ended the run; `None` if it is open, or had ended before.
        """
        end = None
        if summary["ended"] is not None:
            if ended_with is not None:
                end = End(typed[ended_with].at, None)
            else:
                end = self._placed.end or End(self._clock(), None)

        def put(connection: Connection) -> Placed:
            if along is not None:
                along(connection)
            return self._put(connection, typed, summary, end, ended_with)

        try:
            placed = self._once.write(self.id, put, lambda c: self._arrived(c, typed))
        except Conflict as error:
            raise self._lost(error) from error
        self._placed = placed
        self._times += (one.at for one in typed)

    def _put(
        self,
        connection: Connection,
        typed: Sequence[Typed],
        summary: Summary,
        end: End | None,
        ended_with: int | None,
    ) -> Placed:
        """Write entries after those that are known, and what follows from them."""
        number = self._placed.number
        if number is not None:
            self._still_there(connection, number)
        else:
            number = self._begin(connection, typed[0].at, {**summary, **_ended(end)})
        numbers = self._add(connection, number, typed, len(self.run.entries))
        if end is not None and ended_with is not None:
            end = End(end.at, numbers[ended_with])
        sum_up(connection, number, {**summary, **_ended(end)})
        return Placed(number, self._placed.player, end)

    def _arrived(self, connection: Connection, typed: Sequence[Typed]) -> Placed | None:
        """Where the run lies if these entries of it are on disk from an earlier try."""
        found = find(connection, self.id)
        if found is None or found.placed.player != self._placed.player:
            return None
        there = records.entries(connection, self.id)[len(self.run.entries) :]
        kept = [(entry, one.at) for entry, one in zip(records.typed(there), there, strict=True)]
        return found.placed if kept == [(one.entry, one.at) for one in typed] else None

    def _still_there(self, connection: Connection, number: int) -> None:
        """Nothing is added to a run that was given away, or that has lost what is known of it."""
        row = _STANDS.row(connection, {"number": number, "run": self.id})
        given = row is not None and row[0] != self._placed.player
        other = row is None or (not given and row[1] != self.player.id)
        if row is None or other or (row[2] or 0) < len(self.run.entries):
            name = self._database.name
            raise Moved(f"{name}: what was typed in this run is not in it any more: {ANEW}")
        if given:
            where = "look for it with drillrunner history"
            raise PlayedElsewhere(f"this run was given to another player: {where}")

    def write_anew(self, places: Sequence[int] = ()) -> Run:
        """Write all that is known of this run to the file that is there now, after a `Moved`.

        places: of its entries among those of its match, if it is one of a match. What lies there of
        it already stays; a player who is not there is added, and what the run
        belonged to is left out if it is not there. Raises PlayedElsewhere if the run went on
        differently there; StoreError if it could not be written.
        """
        at, typed, ended_with = self._clock(), list[Typed](), -1
        folded = Run.begin(self.run.game, self.run.between, self.run.tally)
        for entry, time in zip_longest(self.run.entries, self._times, fillvalue=at):
            assert isinstance(entry, Entry)
            typed.append(Typed(entry, time, folded.ask))
            before, folded = folded.over, folded.add(entry)
            ended_with = len(typed) - 1 if folded.over and not before else ended_with
        with self._database.writing() as connection:
            self._placed = Placed(None, people.same_or_added(connection, self.player, at))
            self.about = _still_known(connection, self.about)
            have = records.typed(records.entries(connection, self.id))
            if have != self.run.entries[: len(have)]:
                raise PlayedElsewhere(f"{ELSEWHERE}: look at it before you go on")
            found = find(connection, self.id)
            if found is not None:
                self._placed = found.placed
            summary, end, number = follows(self.run, self.about.decider), None, self._placed.number
            if number is None and typed:
                number = self._begin(connection, typed[0].at, {**summary, **_ended(None)})
            if number is not None:
                rest = typed[len(have) :]
                numbers = self._add(connection, number, rest, len(have), places[len(have) :])
                if self.run.over:
                    end = self._placed.end or End(at, None)
                    if ended_with >= len(have):
                        end = End(typed[ended_with].at, numbers[ended_with - len(have)])
                sum_up(connection, number, {**summary, **_ended(end)})
        self._placed = Placed(number, self._placed.player, end)
        self._times = [one.at for one in typed]
        return self.run

    def _begin(self, connection: Connection, at: datetime, summary: Summary) -> int:
        started, offset = stamp(at)
        values = {
            "id": self.id,
            "player": self._placed.player,
            "drill": self.drill.id,
            "fingerprint": self.drill.fingerprint,
            "drill_as_set": kept_setting(connection, self.drill, self.run.game),
            "tally": self.run.tally,
            "started": started,
            "started_offset": offset,
            "visit_id": visit_of_the_day(connection, self._placed.player, at),
            "session_id": self.about.session_id,
            "block": self.about.block,
            "match_id": self.about.match_id,
            "decider": self.about.decider,
            **summary,
        }
        return int(_ADD_RUN.value(connection, values))

    def _add(
        self,
        connection: Connection,
        run: int,
        typed: Sequence[Typed],
        after: int,
        places: Sequence[int] = (),
    ) -> list[int]:
        if self.about.match_id is None:
            places = ()
        elif not places:
            place = next_in_match(connection, self.about.match_id)
            places = range(place, place + len(typed))
        numbers = []
        for offset, (entry, at, ask) in enumerate(typed):
            values = {
                **entry_row(entry, after + offset + 1, at),
                "run": run,
                "player": self._placed.player,
                "match_order": places[offset] if places else None,
            }
            if entry.kind is Kind.SHOT:
                values |= {"club": ask.club, "swing": ask.swing, **aim_row(ask.aim)}
            elif entry.kind is Kind.BETWEEN:
                values |= {"club": self.drill.between}
            numbers.append(int(_ADD_ENTRY.value(connection, values)))
        return numbers

    def _lost(self, error: Conflict) -> StoreError:
        """Why an entry collided: the run was played on elsewhere, or another one is open."""
        with self._database.reading() as connection:
            stored = records.entries(connection, self.id)
            found = find(connection, self.id)
            ways = {"player": self.player.id, "drill": self.drill.id}
            others = records.runs(connection, None, True, **ways)
        if found is not None and len(stored) > len(self.run.entries):
            self._placed, self.broken = found.placed, found.broken
            if self.broken is None:
                run = self.run
                self.run = Run.fold(run.game, records.typed(stored), run.between, run.tally)
            return PlayedElsewhere(f"{ELSEWHERE}: look at it before you go on")
        if any(other.run != self.id for other in others):
            if not self.begun:
                return PlayedElsewhere(f"{ELSEWHERE}: go on with it there, or open it here")
            return StoreError(
                f"another run of {self.drill.title} is open: finish it or give it up first"
            )
        return error


def begin(
    database: Database,
    clock: Clock,
    player: PlayerInfo,
    drill: Drill,
    tally: bool,
    about: Circumstances,
) -> Playing:
    """A run that is on disk from its first entry on.

    Raises NeedsStock for a drill whose aim is not filled in, BrokenGame if its game raises, and
    StoreError if the player has gone.
    """
    try:
        run = Run.begin(drill.game(), drill.between, tally)
        follows(run, about.decider)
    except NeedsStock:
        raise
    except Exception as error:
        raise broken_game(error, drill, begun=False) from error
    with database.reading() as connection:
        placed = Placed(None, player_number(connection, player.id))
        best = records.best(connection, player.id, drill.fingerprint)
    return Playing(database, clock, player, drill, run, str(uuid.uuid4()), placed, best, about)


def resume(
    database: Database,
    clock: Clock,
    player: PlayerInfo,
    stored: StoredRun,
    games: Mapping[str, LoadedGame],
) -> Playing:
    """A stored run as it was left, open or ended.

    Raises StoreError if its game has gone or changed; BrokenGame if the game raises on what it
    took before, which ends an open run as broken.
    """
    drill = drill_as_stored(stored, games)
    with database.reading() as connection:
        kept = records.entries(connection, stored.run)
        found = find(connection, stored.run)
        best = records.best(connection, stored.player_id, stored.fingerprint, but=stored.run)
    if found is None:
        raise StoreError(f"no run {stored.run}: it was taken away")
    about = Circumstances(stored.session_id, stored.block, stored.match_id, stored.decider)
    entries, times = records.typed(kept), [entry.at for entry in kept]
    is_kept = f"the run of {stored.title} is kept as stored"
    try:
        run = Run.fold(drill.game(), entries, drill.between, stored.tally)
    except Refused as error:
        raise StoreError(f"{is_kept}: its game takes it no more: {error}") from error
    except Exception as error:
        broken = broken_game(error, drill)
        if stored.ended is None:
            summary = broken_summary([entry.kind for entry in entries], broken)
            with database.writing() as connection:
                assert found.placed.number is not None
                end = _ended(End(clock(), None))
                sum_up(connection, found.placed.number, {**summary, **end})
        raise broken from error
    return Playing(
        database, clock, player, drill, run, stored.run, found.placed, best, about, times
    )


def give_up(database: Database, clock: Clock, stored: StoredRun) -> None:
    """Give up an open run without its game, which may have gone.

    Raises StoreError if it has ended; PlayedElsewhere if it was played on meanwhile.
    """
    try:
        with database.writing() as connection:
            found = find(connection, stored.run)
            kinds = [entry.kind for entry in records.entries(connection, stored.run)]
            if found is None or found.ended is not None or found.placed.number is None:
                raise StoreError(f"the run of {stored.title} has ended already")
            at = clock()
            values = {
                **entry_row(Entry(Kind.GIVE_UP), len(kinds) + 1, at),
                "run": found.placed.number,
                "player": found.placed.player,
            }
            if stored.match_id is not None:
                values["match_order"] = next_in_match(connection, stored.match_id)
            by = int(_ADD_ENTRY.value(connection, values))
            summary: Summary = {
                **standing([*kinds, Kind.GIVE_UP]),
                "score": found.score,
                "rank": None,
                "finished": False,
                "ended": GIVEN_UP,
                "broken": None,
            }
            sum_up(connection, found.placed.number, {**summary, **_ended(End(at, by))})
    except Conflict as error:
        raise PlayedElsewhere(f"{ELSEWHERE}: look at it before you give it up") from error


def _still_known(connection: Connection, about: Circumstances) -> Circumstances:
    """What a run belongs to, as far as that is in this file."""

    def kept(table: Any, id: str | None) -> str | None:
        known = connection.execute(select(table.c.id).where(table.c.id == id)).scalar()
        return None if known is None else str(known)

    session, match = kept(t.session, about.session_id), kept(t.match, about.match_id)
    return replace(about, session_id=session, match_id=match)


def find(connection: Connection, run: str) -> Found | None:
    """Where a run lies and how it ended; `None` if it is not there."""
    row = _FIND_RUN.row(connection, {"run": run})
    if row is None:
        return None
    number, player, score, ended, ended_at, offset, by, broken = row
    end = None if ended_at is None else End(moment(ended_at, offset), by)
    return Found(Placed(number, player, end), score, ended, broken)


def next_in_match(connection: Connection, match: str) -> int:
    """The order number of the next entry of a match."""
    return int(_NEXT_IN_MATCH.value(connection, {"match": match}))


def sum_up(connection: Connection, run: int, summary: Summary) -> None:
    """Write on the run's row what follows from its entries."""
    values = {f"to_{name}": summary[name] for name in _SUMMARY}
    _SUM_UP.do(connection, {"at_number": run, **values})


def _ended(end: End | None) -> Summary:
    if end is None:
        return {"ended_at": None, "ended_offset": None, "ended_by": None}
    at, offset = stamp(end.at)
    return {"ended_at": at, "ended_offset": offset, "ended_by": end.by}
