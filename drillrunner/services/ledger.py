"""A session in the store: begun, gone on with, looked back on.

The events are the session; the balls of its runs are counted from the runs' own entries, and a
stock carry is saved with the event that reveals its search, in one transaction.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from typing import Any

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.plans import Plan
from drillrunner.practice.carries import stock
from drillrunner.practice.sessions.keeper import Keeper, Watch, started
from drillrunner.practice.sessions.session import (
    ROUTINE,
    Event,
    Limits,
    Session,
    balls_hit,
    fold,
)
from drillrunner.practice.sessions.summary import (
    PatternChange,
    RunOfBlock,
    Summary,
    ball_times,
    pattern_change,
    record_before,
    summarise,
)
from drillrunner.rules.run import Refused
from drillrunner.store.errors import DAMAGES, StoreError
from drillrunner.store.journal import Playing
from drillrunner.store.shapes import PlayerInfo, SessionEvent, SessionInfo
from drillrunner.store.store import Store

Later = Callable[[Event, Callable[[], object]], object]
"""Takes an event and what writes it, to be called in order, by another thread if need be."""


class Ledger(Keeper):
    """One session of one player in progress, kept in the store: each event is on disk first.

    later: writes what it is handed when the disk takes it. Then `session` is how it will stand once
    all of that is written: what is done next goes by it. `kept` is how it stands on disk, to be
    shown; the owner of `later` calls `wrote` or `dropped` for each event, in the end.
    """

    def __init__(
        self, store: Store, player: PlayerInfo, id: str, events: Sequence[Event], watch: Watch
    ) -> None:
        self.later: Later | None = None
        self._waiting: deque[Event] = deque()
        self._on_disk: Session | None = None
        super().__init__(events, watch, self._append)
        self.store = store
        self.player = player
        self.id = id
        self._seq = len(events)
        self._written: list[SessionEvent] = []

    @classmethod
    def start(
        cls,
        store: Store,
        player: PlayerInfo,
        plan: Plan,
        limits: Limits,
        watch: Watch,
        id: str | None = None,
    ) -> Ledger:
        """Start a session now; id: of it, for who may have to try again. Raises StoreError."""
        data = {"minutes": limits.minutes, "balls": limits.balls, "plan": plan.data()}
        first = started(plan, limits, watch().at)
        event = SessionEvent(1, first.at, first.kind, {**first.data, "spent": first.spent})
        info = store.add_session(player.id, data, event, id)
        ledger = cls(store, player, info.id, events_of(info), watch)
        ledger._written = list(info.events)
        return ledger

    @classmethod
    def taken_up(cls, store: Store, info: SessionInfo, watch: Watch) -> Ledger:
        """Go on with a session where it was left. Raises StoreError, PlayedElsewhere."""
        ledger = cls(store, store.player_of(info.player_id), info.id, events_of(info), watch)
        ledger._seq = info.events[-1].seq
        ledger._written = list(info.events)
        ledger.go_on(_run_as_it_stands(store, ledger.session))
        ledger._save_found()
        return ledger

    # ---- what waits for the disk ----

    @property
    def behind(self) -> bool:
        return bool(self._waiting)

    @property
    def kept(self) -> Session:
        """The session as it stands on disk; its clock runs on."""
        on_disk = self._on_disk
        if on_disk is None:
            return self.session
        return on_disk.advanced(self.session.spent - on_disk.spent)

    def wrote(self) -> None:
        """The first of the events that waited is on disk."""
        event = self._waiting.popleft()
        if self._on_disk is not None:
            self._on_disk = self._on_disk.after(event) if self._waiting else None

    def dropped(self, event: Event) -> None:
        """An event that waited will not be written: the session goes on without it."""
        if event not in self._waiting or self._on_disk is None:
            return
        self._waiting.remove(event)
        spent, session = self.session.spent, self._on_disk
        for left in self._waiting:
            with suppress(Refused):
                session = session.after(left)
        self.session = session.advanced(spent - session.spent)
        if not self._waiting:
            self._on_disk = None

    @property
    def known(self) -> int:
        """How many events are known of it, those that wait too."""
        return len(self._written) + len(self._waiting)

    def write_anew(self) -> None:
        """After `Moved`: write what is known to be on disk to the file that is there now.

        What waits is written by `later`, once that tries again. Raises as the store's
        `write_session_anew`.
        """
        session = self.kept
        plan = {
            "minutes": session.limits.minutes,
            "balls": session.limits.balls,
            "plan": session.plan.data(),
        }
        events = tuple(
            event._replace(data=json.loads(json.dumps(event.data))) for event in self._written
        )
        info = SessionInfo(
            self.id, self.player.id, self.player.name, session.started, None, None, plan, events
        )
        self.store.write_session_anew(self.player, info)
        self.player = self.store.player(self.player.name) or self.player
        self._save_found()

    # ---- what is played; it ends a pause ----

    def ball(self, count: int = 1) -> Session:
        self._play()
        return super().ball(count)

    def beside(self, count: int) -> Session:
        self._play()
        return super().beside(count)

    def carry(self, carry: str) -> Session:
        self._play()
        return super().carry(carry)

    def begin(self, drill: Drill) -> Playing:
        """A new run of a drill in the block in hand; one in play is left open.

        Raises Refused, and as the store's `begin`.
        """
        self._leave_other(None)
        place = self.session.current
        playing = self.store.begin(
            self.player.id, drill, session_id=self.id, block=None if place is None else str(place)
        )
        return self._begun(playing)

    def take_up(self, playing: Playing) -> Playing:
        """Go on with a run in the block in hand; balls that it had already do not count here."""
        if self._leave_other(playing.id):
            return playing
        return self._begun(playing)

    def entered(self, playing: Playing) -> Session:
        """The run in play has one more entry."""
        self._play()
        count, over = balls_hit(playing.run), playing.run.over
        if self._on_disk is not None:
            self._on_disk = self._on_disk.with_run(count, over)
        return self.run_at(count, over)

    def left(self, playing: Playing) -> Session:
        """This run is not played any more, finished or open."""
        mark = self.session.run
        return self.leave_run() if mark is not None and mark.run == playing.id else self.session

    def _leave_other(self, run: str | None) -> bool:
        """Leave the run in play unless it is this one; whether it is."""
        mark = self.session.run
        if mark is not None and mark.run != run:
            self.leave_run()
        return mark is not None and mark.run == run

    def _begun(self, playing: Playing) -> Playing:
        self.run_started(playing.id, balls_hit(playing.run))
        return playing

    def _play(self) -> None:
        if self.session.paused:
            self.resume()

    # ---- the store ----

    def _append(self, event: Event) -> None:
        write = partial(self._write_event, event, self._found_by(event))
        if self.later is None:
            write()
            return
        if not self._waiting:
            self._on_disk = self.session
        self._waiting.append(event)
        self.later(event, write)

    def _write_event(self, event: Event, found: dict[str, Any] | None) -> None:
        written = self.store.append_event(
            self.id,
            self._seq + 1,
            event.kind,
            {**event.data, "spent": event.spent},
            at=event.at,
            ends=event.kind == "stop",
            found=found,
        )
        self._seq += 1
        self._written.append(written)

    def _found_by(self, event: Event) -> dict[str, Any] | None:
        """The stock carry that an event brings to light: it is on disk with it or not at all."""
        if event.kind != "reveal":
            return None
        after = self.session.after(event)
        return None if after.current is None else self._carry_of(after, after.current)

    def _carry_of(self, session: Session, place: int) -> dict[str, Any] | None:
        state = session.blocks[place]
        club, swing = state.block.club, state.block.swing
        found = state.found(self.player.unit)
        if found is None or club is None:
            return None
        kept = stock.record(found)
        kept["data"]["block"] = place
        return {"club": club, "swing": swing, "unit": self.player.unit, **kept}

    def _save_found(self) -> None:
        """Save what an older version of this program has left revealed and not saved."""
        saved = {
            (kept.club, kept.swing, kept.data.get("block"))
            for kept in self.store.stock_carries(self.player.id, every=True)
            if kept.session_id == self.id
        }
        for place in range(len(self.session.blocks)):
            found = self._carry_of(self.session, place)
            if found is not None and (found["club"], found["swing"], place) not in saved:
                self.store.save_stock_carry(self.player.id, session_id=self.id, **found)


def end_open(store: Store, player: PlayerInfo, watch: Watch) -> None:
    """Stop every session of a player that is still open; all of it is kept."""
    for info in store.open_sessions(player.id):
        if info.events:
            Ledger.taken_up(store, info, watch).stop()


def events_of(info: SessionInfo) -> tuple[Event, ...]:
    """The events of a stored session; empty if it never got under way.

    One that the session can't have had, as another hand may have put it there, is left out:
    `faults_of` names those. Raises StoreError where nothing can be told without the first.
    """
    return _events_and_faults(info)[0]


def faults_of(info: SessionInfo) -> tuple[str, ...]:
    """The events of a session that are damaged, and so left out, a line each."""
    return _events_and_faults(info)[1]


def damaged_sessions(store: Store) -> tuple[str, ...]:
    """Everything in the sessions of a database that this program did not write so, a line each."""
    lines: list[str] = []
    for info in store.sessions():
        try:
            lines += faults_of(info)
        except StoreError as error:
            lines.append(str(error))
    return tuple(lines)


def _events_and_faults(info: SessionInfo) -> tuple[tuple[Event, ...], tuple[str, ...]]:
    events: list[Event] = []
    faults: list[str] = []
    session: Session | None = None
    for stored in info.events:
        try:
            rest = {name: value for name, value in stored.data.items() if name != "spent"}
            spent = float(stored.data["spent"])
            if not 0 <= spent < float("inf"):
                raise ValueError(f"spent: expected seconds, not {spent}")
            event = Event(stored.at, stored.kind, spent, rest)
            session = fold([event]) if session is None else session.after(event)
        except (Refused, *DAMAGES) as error:
            why = (str(error).splitlines() or [""])[0]
            line = f"session {info.id}: event {stored.seq} ({stored.kind}) is damaged: {why}"
            if session is None:
                raise StoreError(line) from error
            faults.append(f"{line}: it is left out")
        else:
            events.append(event)
    return tuple(events), tuple(faults)


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
    played: dict[str, RunOfBlock] = {}
    for id in ids:
        stored = store.run(id)
        if stored is None:
            continue
        history = store.history(stored.drill, info.player_id)
        played[id] = RunOfBlock(
            stored, record_before(stored, history), ball_times(store.entries(id))
        )
    return summarise(
        info.id,
        session,
        events,
        played,
        player.unit,
        routine,
        _changes(store, player, played) if changes else (),
    )


def _changes(
    store: Store, player: PlayerInfo, played: dict[str, RunOfBlock]
) -> list[PatternChange]:
    from drillrunner.odds.desk import picture_of

    found = []
    kinds = dict.fromkeys(
        (*pair, p.run.direction) for p in played.values() for pair in p.run.swings
    )
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
