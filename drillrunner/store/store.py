"""The one door to everything that is kept. Every method raises StoreError in one line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.run import Run
from drillrunner.store import journal, quick, schema
from drillrunner.store.boards import Boards
from drillrunner.store.database import WAIT, Database
from drillrunner.store.errors import StoreError
from drillrunner.store.gatherings import Gatherings
from drillrunner.store.giving import GiftStore
from drillrunner.store.intents import Intents
from drillrunner.store.journal import Circumstances, Playing
from drillrunner.store.matches import MatchStore
from drillrunner.store.outings import OutingStore
from drillrunner.store.people import PeopleStore
from drillrunner.store.phone_book import PhoneBook
from drillrunner.store.quick import HomeFacts
from drillrunner.store.records import RunStore, asked
from drillrunner.store.round_book import RoundBook
from drillrunner.store.shapes import MatchInfo, SessionInfo, StoredRun
from drillrunner.store.visits import VisitStore


def _now() -> datetime:
    return datetime.now().astimezone()


class Store(PeopleStore, VisitStore, RunStore, OutingStore, MatchStore, GiftStore):
    """A database that is open. It may be used from several threads."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        super().__init__(database, clock)
        self.rounds = RoundBook(database, clock)
        self.intents = Intents(database, clock)
        self.boards = Boards(database, clock)
        self.gatherings = Gatherings(database, clock)
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

    def home(self, name: str | None = None) -> HomeFacts:
        """What the first screen shows, of the player of that name or of the owner."""
        with self.database.reading() as connection:
            return quick.home_facts(lambda text, values: asked(connection, text, values), name)

    # What was typed under another player than its own

    def give_run(self, run_id: str, player_id: str) -> StoredRun:
        """Give a run to the player whose it was. Raises StoreError for one of a match, or where
        that player has an open run of the drill."""
        self.give("run", run_id, player_id)
        return self.run_of(run_id)

    def give_session(self, session_id: str, player_id: str) -> SessionInfo:
        """Give a session, with the runs and stock carries of it. Raises as `give_run`."""
        self.give("session", session_id, player_id)
        return self.session(session_id)

    def give_round(self, round_id: str, player_id: str) -> None:
        """Give a round to the player whose it was."""
        self.give("round", round_id, player_id)

    def give_seat(self, match_id: str, from_id: str, player_id: str) -> MatchInfo:
        """Give a seat in a match, with its runs. Raises as `give_run`, and for who is in it."""
        self.give("seat", match_id, player_id, from_id)
        return self.match(match_id)

    # Playing

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
        stored = self.run_of(run_id)
        player = self.player_of(stored.player_id)
        return journal.resume(self.database, self.clock, player, stored, games)

    def write_anew(self, playing: Playing) -> Run:
        """After `Moved`: open the file that is there now, or a new one, and write the run to it.

        All that is known of the run is on disk when this returns. Raises as
        `Playing.write_anew`.
        """
        schema.open_anew(self.database)
        return playing.write_anew()

    def give_up(self, run_id: str) -> StoredRun:
        """Give up an open run; its game need not be there."""
        journal.give_up(self.database, self.clock, self.run_of(run_id))
        return self.run_of(run_id)
