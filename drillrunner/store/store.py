"""The one door to everything that is kept. Every method raises StoreError in one line."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.run import Entry, Run
from drillrunner.rules.shot import NearLie
from drillrunner.rules.units import Unit
from drillrunner.store import gatherings, giving, journal, outings, people, records, schema
from drillrunner.store.boards import Boards
from drillrunner.store.database import WAIT, Database
from drillrunner.store.errors import Conflict, PlayedElsewhere, StoreError
from drillrunner.store.giving import Giving
from drillrunner.store.intents import Intents
from drillrunner.store.journal import Circumstances, Playing, player_number
from drillrunner.store.outings import Data
from drillrunner.store.people_store import PeopleStore
from drillrunner.store.phone_book import PhoneBook
from drillrunner.store.round_book import RoundBook
from drillrunner.store.shapes import (
    Best,
    DayOfRuns,
    MatchInfo,
    PlayerInfo,
    SessionEvent,
    SessionInfo,
    StockCarry,
    StoredEntry,
    StoredRun,
    StoredShot,
)
from drillrunner.store.stored import stamp


def _now() -> datetime:
    return datetime.now().astimezone()


def _utc(moment: datetime | None) -> str | None:
    """A moment as the tables hold one."""
    return None if moment is None else stamp(moment)[0]


class Store(PeopleStore):
    """A database that is open. It may be used from several threads."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self.database = database
        self.clock = clock
        self.rounds = RoundBook(database, clock)
        self.intents = Intents(database, clock)
        self.boards = Boards(database, clock)
        self.gatherings = gatherings.Gatherings(database, clock)
        self.phones = PhoneBook(database, clock)

    @classmethod
    def open(
        cls,
        url_or_path: str | Path,
        clock: Callable[[], datetime] | None = None,
        wait: float = WAIT,
        throwaway: bool = False,
        looking: bool = False,
        own: str | None = None,
    ) -> Store:
        """Open a database, making or migrating it first if need be.

        clock: gives times with their zone. wait: seconds of patience with another program that
        writes. throwaway: nobody minds if it is lost with the power. looking: nothing need be
        written, so that one which can't be is read as it is. own: the name of the player whose
        records are read, and of nobody else.
        """
        database = Database(url_or_path, wait, throwaway, looking, own)
        try:
            schema.bring_up(database)
        except BaseException:
            database.close()
            raise
        return cls(database, clock or _now)

    def close(self) -> None:
        """Let go of the file."""
        self.database.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # What was typed under another player

    def give_run(self, run_id: str, player_id: str) -> StoredRun:
        """Give a run to the player whose it was. Raises StoreError for one of a match, or where
        that player has an open run of the drill."""
        self._give("run", run_id, player_id)
        return self._run(run_id)

    def give_session(self, session_id: str, player_id: str) -> SessionInfo:
        """Give a session, with the runs and stock carries of it. Raises as `give_run`."""
        self._give("session", session_id, player_id)
        return self.session(session_id)

    def give_round(self, round_id: str, player_id: str) -> None:
        """Give a round to the player whose it was."""
        self._give("round", round_id, player_id)

    def give_seat(self, match_id: str, from_id: str, player_id: str) -> MatchInfo:
        """Give a seat in a match, with its runs. Raises as `give_run`, and for who is in it."""
        self._give("seat", match_id, player_id, from_id)
        return self.match(match_id)

    def _give(self, kind: str, what: str, player: str, giver: str | None = None) -> None:
        with self.database.writing() as connection:
            taker = player_number(connection, player)
            seat = None if giver is None else player_number(connection, giver)
            giving.give(connection, kind, what, taker, self.clock(), seat)

    def givings(self, what: str | None = None) -> tuple[Giving, ...]:
        """What was given to another player, oldest first: all, or of one run, session or match."""
        with self.database.reading() as connection:
            return giving.givings(connection, what)

    # Playing

    def open_run(self, player_id: str, drill_id: str) -> StoredRun | None:
        """The player's open run of a drill; there is one at most, not counting deciders."""
        with self.database.reading() as connection:
            found = records.runs(connection, 1, True, player=player_id, drill=drill_id)
        return found[0] if found else None

    def open_runs(self, player_id: str | None = None) -> tuple[StoredRun, ...]:
        """Open runs, newest first, without deciders."""
        with self.database.reading() as connection:
            return records.runs(connection, None, True, player=player_id)

    def begin(
        self,
        player_id: str,
        drill: Drill,
        *,
        tally: bool = False,
        swing: str | None = None,
        session_id: str | None = None,
        block: str | None = None,
        match_id: str | None = None,
        decider: bool = False,
    ) -> Playing:
        """A new run; nothing of it is on disk until its first entry.

        tally: typed afterwards from paper, and ended in one go, so that an open run of the same
        drill is no hindrance. swing: another than the drill's. Raises StoreError if the player has
        an open run of this drill, NeedsStock if its aim is not filled in, BrokenGame if its game
        raises.
        """
        player = self.player_of(player_id)
        if not (tally or decider) and self.open_run(player_id, drill.id) is not None:
            raise StoreError(f"a run of {drill.title} is open: go on with it or give it up first")
        if swing is not None:
            drill = drill.with_swing(swing)
        about = Circumstances(session_id, block, match_id, decider)
        return journal.begin(self.database, self.clock, player, drill, tally, about)

    def resume(self, run_id: str, games: Mapping[str, LoadedGame]) -> Playing:
        """A stored run as it was left, open or ended.

        Raises StoreError, saying what can be done, if its game has gone or changed.
        """
        stored = self._run(run_id)
        player = self.player_of(stored.player_id)
        return journal.resume(self.database, self.clock, player, stored, games)

    def write_anew(self, playing: Playing) -> Run:
        """After `Moved`: open the file that is there now, or a new one, and write the run to it.

        All that is known of the run is on disk when this returns. Raises as
        `Playing.write_anew`.
        """
        self.database.reopen()
        schema.bring_up(self.database)
        return playing.write_anew()

    def write_session_anew(self, player: PlayerInfo, info: SessionInfo) -> None:
        """As `write_anew`, for a session: all that is known of it, with the events that lie there
        already left as they are.

        Raises PlayedElsewhere if it went on differently there; StoreError if it could not be
        written.
        """
        self.database.reopen()
        schema.bring_up(self.database)
        with self.database.writing() as connection:
            number = people.same_or_added(connection, player, info.started)
            there = outings.sessions(connection, info.id)
            have = there[0].events if there else ()
            if have != info.events[: len(have)]:
                raise PlayedElsewhere("this session went on differently there: look at it first")
            if not there:
                outings.add_session(connection, number, info.plan, info.started, info.id)
            for event in info.events[len(have) :]:
                ends = event.kind == "stop"
                outings.append_event(
                    connection, info.id, event.seq, event.kind, event.data, event.at, ends
                )

    def give_up(self, run_id: str) -> StoredRun:
        """Give up an open run; its game need not be there."""
        journal.give_up(self.database, self.clock, self._run(run_id))
        return self._run(run_id)

    # Looking back

    def best(self, player_id: str, fingerprint: str) -> Best | None:
        """A player's best on a drill as set."""
        with self.database.reading() as connection:
            return records.best(connection, player_id, fingerprint)

    def bests(self, player_id: str | None = None, drill_id: str | None = None) -> tuple[Best, ...]:
        """Everyone's bests, or one player's, on all drills or one."""
        with self.database.reading() as connection:
            return records.bests(connection, player=player_id, drill=drill_id)

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
            return records.runs(
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
        with self.database.reading() as connection:
            return records.settings(
                connection,
                drill=drill_id,
                player=player_id,
                club=club,
                since=_utc(since),
                until=_utc(until),
            )

    def days(self, player_id: str | None = None) -> tuple[DayOfRuns, ...]:
        """What was played on each local day, newest first."""
        with self.database.reading() as connection:
            return records.days(connection, player_id)

    def run(self, run_id: str) -> StoredRun | None:
        """A run by id."""
        with self.database.reading() as connection:
            found = records.runs(connection, run=run_id)
        return found[0] if found else None

    def _run(self, run_id: str) -> StoredRun:
        found = self.run(run_id)
        if found is None:
            raise StoreError(f"no run {run_id}: look for it with drillrunner history")
        return found

    def entries(self, run_id: str) -> tuple[StoredEntry, ...]:
        """A run's entries in order, each with how it stands; its game need not be there."""
        with self.database.reading() as connection:
            return records.entries(connection, run_id)

    def recent_shots(
        self, player_id: str, club: str, swing: str = "full", limit: int | None = 2000
    ) -> tuple[StoredShot, ...]:
        """A player's balls that count, with one club and swing, newest first."""
        with self.database.reading_of(player_id) as connection:
            return records.recent_shots(connection, player_id, club, swing, limit)

    def recent_strokes(
        self, player_id: str, lie: NearLie, limit: int | None = 2000
    ) -> tuple[StoredShot, ...]:
        """A player's balls that count and were played to the hole from a lie, newest first."""
        with self.database.reading_of(player_id) as connection:
            return records.recent_strokes(connection, player_id, lie, limit)

    # Sessions, stock carries and matches

    def add_session(
        self, player_id: str, plan: Data, first: SessionEvent | None = None
    ) -> SessionInfo:
        """A new session, open, in today's visit; with its first event or not at all."""
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            id = outings.add_session(connection, number, plan, self.clock())
            if first is not None:
                seq, at, kind, data = first
                outings.append_event(connection, id, seq, kind, data, at, ends=False)
        return self.session(id)

    def append_event(
        self,
        session_id: str,
        seq: int,
        kind: str,
        data: Data,
        *,
        at: datetime | None = None,
        ends: bool = False,
        found: Data | None = None,
    ) -> SessionEvent:
        """Add an event, on disk when this returns; `ends` closes the session.

        seq: one more than the last event's; raises PlayedElsewhere if that is taken. found: a stock
        carry that is kept with it or not at all, as `save_stock_carry` takes it.
        """
        moment = at or self.clock()
        try:
            with self.database.writing() as connection:
                outings.append_event(connection, session_id, seq, kind, data, moment, ends)
                if found is not None:
                    outings.save_stock_carry(
                        connection,
                        outings.player_of_session(connection, session_id),
                        at=moment,
                        session=session_id,
                        **{"data": {}, **found},
                    )
        except Conflict as error:
            raise PlayedElsewhere("this session is being played elsewhere") from error
        return SessionEvent(seq, moment, kind, data)

    def session(self, session_id: str) -> SessionInfo:
        """A session with its events."""
        with self.database.reading() as connection:
            found = outings.sessions(connection, session_id)
        if not found:
            raise StoreError(f"no session {session_id}")
        return found[0]

    def sessions(
        self, player_id: str | None = None, limit: int | None = None
    ) -> tuple[SessionInfo, ...]:
        """Sessions with their events, newest first, the open ones too."""
        with self.database.reading() as connection:
            return outings.sessions(connection, player=player_id, limit=limit)

    def events_by_day(
        self, kinds: Sequence[str], player_id: str | None = None
    ) -> tuple[tuple[str, str, Data], ...]:
        """Local day, kind and data of all session events of these kinds, in order."""
        with self.database.reading() as connection:
            return outings.events_by_day(connection, kinds, player_id)

    def open_sessions(self, player_id: str | None = None) -> tuple[SessionInfo, ...]:
        """Sessions that have not ended, newest first."""
        with self.database.reading() as connection:
            return outings.sessions(connection, player=player_id, is_open=True)

    def save_stock_carry(
        self,
        player_id: str,
        club: str,
        swing: str,
        *,
        carry: Decimal,
        low: Decimal,
        high: Decimal,
        spread: Decimal,
        unit: Unit,
        session_id: str | None = None,
        data: Data | None = None,
    ) -> None:
        """Keep a stock carry, in force from now on. Numbers have at most two decimals."""
        with self.database.writing() as connection:
            outings.save_stock_carry(
                connection,
                player_number(connection, player_id),
                club,
                swing,
                carry,
                low,
                high,
                spread,
                unit,
                self.clock(),
                session_id,
                data or {},
            )

    def stock_carries(self, player_id: str, every: bool = False) -> tuple[StockCarry, ...]:
        """Stock carries, newest first: the one in force for each club and swing, or every one."""
        with self.database.reading_of(player_id) as connection:
            return outings.stock_carries(connection, player_id, every)

    def add_match(
        self,
        drill_id: str,
        players: Sequence[tuple[str, Data]],
        data: Data,
        gathering: int | None = None,
    ) -> MatchInfo:
        """A new match: who plays, in their order, and what `practice` keeps of each and of all.

        gathering: the one between bays that begins as this match.
        """
        with self.database.writing() as connection:
            seats = [(player_number(connection, id), own) for id, own in players]
            number, id = outings.add_match(connection, drill_id, seats, data, self.clock())
            if gathering is not None:
                gatherings.begin(connection, gathering, number)
        return self.match(id)

    def change_match(
        self,
        match_id: str,
        data: Data | None = None,
        *,
        ends: bool | None = None,
        known: Data | None = None,
    ) -> MatchInfo:
        """Replace a match's data; `ends` closes it (true) or opens it again (false).

        known: the data as last read. Raises PlayedElsewhere if it is another by now.
        """
        with self.database.writing() as connection:
            outings.change_match(connection, match_id, data, self.clock(), ends, known)
        return self.match(match_id)

    def append_in_match(
        self,
        playing: Playing,
        entry: Entry,
        known: MatchInfo,
        data: Data,
        *,
        ends: bool,
        at: datetime | None = None,
    ) -> Run:
        """Take an entry of a run in a match, and what follows for the match, in one transaction.

        known: the match as last read. at: when it was typed. Raises as `Playing.append`, and
        PlayedElsewhere if the match was played on since.
        """
        at = at or self.clock()
        return playing.append(
            entry,
            lambda connection: outings.change_match(
                connection, known.id, data, at, ends, known.data
            ),
            at,
        )

    def change_match_player(self, match_id: str, player_id: str, data: Data) -> MatchInfo:
        """Replace what is kept of one player in a match; a new player comes last."""
        with self.database.writing() as connection:
            outings.change_seat(connection, match_id, player_number(connection, player_id), data)
        return self.match(match_id)

    def match(self, match_id: str) -> MatchInfo:
        """A match with its players."""
        with self.database.reading() as connection:
            found = outings.matches(connection, match_id)
        if not found:
            raise StoreError(f"no match {match_id}")
        return found[0]

    def matches(self, limit: int | None = None) -> tuple[MatchInfo, ...]:
        """Matches with their players, newest first, the open ones too."""
        with self.database.reading() as connection:
            return outings.matches(connection, limit=limit)

    def open_matches(self) -> tuple[MatchInfo, ...]:
        """Matches that have not ended, newest first."""
        with self.database.reading() as connection:
            return outings.matches(connection, is_open=True)
