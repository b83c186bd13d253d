"""A session in the store: begun, gone on with, looked back on.

The events are the session; the balls of its runs are counted from the runs' own entries, and a
stock carry is saved once its search is revealed. Where a killed program has left one without the
other, going on puts it right.
"""

from __future__ import annotations

from datetime import datetime

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue
from drillrunner.catalogue.plans import Plan
from drillrunner.practice.carries import stock
from drillrunner.practice.sessions.compose import Facts
from drillrunner.practice.sessions.keeper import Keeper, Watch
from drillrunner.practice.sessions.plan import facts_of
from drillrunner.practice.sessions.session import (
    ROUTINE,
    BlockState,
    Event,
    Limits,
    Session,
    balls_hit,
    fold,
)
from drillrunner.practice.sessions.summary import (
    Change,
    Played,
    Summary,
    ball_times,
    pattern_change,
    record_before,
    summarise,
)
from drillrunner.store.journal import Playing
from drillrunner.store.shapes import PlayerInfo, SessionInfo
from drillrunner.store.store import Store


class Ledger:
    """One session of one player in progress. `keeper` decides, and each event is on disk first."""

    def __init__(self, store: Store, player: PlayerInfo, id: str, seq: int) -> None:
        self.store = store
        self.player = player
        self.id = id
        self.keeper: Keeper
        self._seq = seq

    @classmethod
    def start(
        cls, store: Store, player: PlayerInfo, plan: Plan, limits: Limits, watch: Watch
    ) -> Ledger:
        """Start a session now. Raises StoreError."""
        data = {"minutes": limits.minutes, "balls": limits.balls, "plan": plan.data()}
        ledger = cls(store, player, store.add_session(player.id, data).id, 0)
        ledger.keeper = Keeper.start(plan, limits, watch, ledger._write)
        return ledger

    @classmethod
    def go_on(cls, store: Store, info: SessionInfo, watch: Watch) -> Ledger:
        """Go on with a session where it was left. Raises StoreError, PlayedElsewhere."""
        ledger = cls(store, store.player_of(info.player_id), info.id, info.events[-1].seq)
        events = events_of(info)
        ledger.keeper = Keeper.go_on(
            events, watch, ledger._write, _run_as_it_stands(store, fold(events))
        )
        ledger._save_found()
        return ledger

    @property
    def session(self) -> Session:
        """How it stands."""
        return self.keeper.session

    def begin(self, drill: Drill) -> Playing:
        """A new run of a drill in the block in hand. Raises as the store's `begin`."""
        place = self.session.current
        playing = self.store.begin(
            self.player.id, drill, session_id=self.id, block=None if place is None else str(place)
        )
        return self.take_up(playing)

    def take_up(self, playing: Playing) -> Playing:
        """Play a run in the block in hand; balls that it had already do not count here."""
        self.keeper.run_started(playing.id, balls_hit(playing.run))
        return playing

    def entered(self, playing: Playing) -> Session:
        """The run in play has one more entry."""
        return self.keeper.run_at(balls_hit(playing.run), playing.run.over)

    def reveal(self) -> BlockState:
        """End the search of the block in hand and save what it found."""
        place = self.session.current
        session = self.keeper.reveal()
        self._save_found()
        assert place is not None
        return session.blocks[place]

    def done(self) -> Session:
        """End the block in hand and begin the next; a search with enough carries is revealed."""
        self.keeper.done()
        self._save_found()
        return self.session

    def _write(self, event: Event) -> None:
        self.store.append_event(
            self.id,
            self._seq + 1,
            event.kind,
            {**event.data, "spent": event.spent},
            at=event.at,
            ends=event.kind == "stop",
        )
        self._seq += 1

    def _save_found(self) -> None:
        """Save every search that is revealed and not saved yet."""
        saved = {
            (kept.club, kept.swing, kept.data.get("block"))
            for kept in self.store.stock_carries(self.player.id, every=True)
            if kept.session_id == self.id
        }
        for place, state in enumerate(self.session.blocks):
            club, swing = state.block.club, state.block.swing
            found = state.found(self.player.unit)
            if found is None or club is None or (club, swing, place) in saved:
                continue
            kept = stock.record(found)
            kept["data"]["block"] = place
            self.store.save_stock_carry(
                self.player.id, club, swing, unit=self.player.unit, session_id=self.id, **kept
            )


def known(store: Store, player: PlayerInfo, catalogue: Catalogue, now: datetime) -> Facts:
    """What this player's history says to `compose`, whatever the limits."""
    return facts_of(
        catalogue,
        player.unit,
        stock.in_force(store.stock_carries(player.id)),
        store.history(player_id=player.id),
        lambda fingerprint: store.best(player.id, fingerprint),
        now,
    )


def end_open(store: Store, player: PlayerInfo, watch: Watch) -> None:
    """Stop every session of a player that is still open; all of it is kept."""
    for info in store.open_sessions(player.id):
        if info.events:
            Ledger.go_on(store, info, watch).keeper.stop()


def events_of(info: SessionInfo) -> tuple[Event, ...]:
    """The events of a stored session; empty if it never got under way."""
    return tuple(
        Event(
            event.at,
            event.kind,
            event.data["spent"],
            {name: value for name, value in event.data.items() if name != "spent"},
        )
        for event in info.events
    )


def look_back(
    store: Store, info: SessionInfo, routine: float | None = ROUTINE, changes: bool = True
) -> Summary:
    """The summary of a stored session, open or ended. Raises StoreError.

    changes: whether to work out how the patterns changed, which takes the odds.
    """
    events = events_of(info)
    session = fold(events)
    run = _run_as_it_stands(store, session)
    if run is not None:
        session = session.with_run(*run)
    player = store.player_of(info.player_id)
    ids = [id for state in session.blocks for id in state.runs]
    played: dict[str, Played] = {}
    for id in ids:
        stored = store.run(id)
        if stored is None:
            continue
        history = store.history(stored.drill, info.player_id)
        played[id] = Played(stored, record_before(stored, history), ball_times(store.entries(id)))
    return summarise(
        info.id,
        session,
        events,
        played,
        player.unit,
        routine,
        _changes(store, player, played) if changes else (),
    )


def _changes(store: Store, player: PlayerInfo, played: dict[str, Played]) -> list[Change]:
    from drillrunner.odds.desk import picture_of

    found = []
    kinds = dict.fromkeys((p.run.club, p.run.swing, p.run.direction) for p in played.values())
    for club, swing, direction in kinds:
        change = pattern_change(
            club,
            swing,
            direction,
            picture_of(store, player, club, swing),
            store.recent_shots(player.id, club, swing),
            played,
        )
        if change is not None:
            found.append(change)
    return found


def _run_as_it_stands(store: Store, session: Session) -> tuple[int, bool] | None:
    """Balls of the run in play and whether it is over, from its entries; `None` without one."""
    if session.run is None:
        return None
    stored = store.run(session.run.run)
    if stored is None:
        return session.run.before, True  # no entry was ever typed: there is nothing to go on with
    return len(ball_times(store.entries(stored.run))), stored.ended is not None
