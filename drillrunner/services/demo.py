"""The demo: its journal played into a throw-away database, as if it were typed."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.practice.carries.stock import in_force
from drillrunner.practice.matches.record import Setup
from drillrunner.practice.sessions.keeper import WatchReading
from drillrunner.practice.sessions.plan import drill_of
from drillrunner.practice.sessions.session import GAP, Limits
from drillrunner.rules import Refused
from drillrunner.rules.scorecard import told_hole
from drillrunner.services.demo_journal import (
    JOURNAL,
    BadJournal,
    Part,
    Person,
    PlayedCard,
    PlayedMatch,
    PlayedRun,
    PlayedSession,
    TypedLine,
    entry_of,
    parse_journal,
)
from drillrunner.services.ledger import Ledger
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store.journal import Playing
from drillrunner.store.round_book import NewRound
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store


class HandClock:
    """A clock that is moved by hand. at: the time that it shows."""

    def __init__(self, at: datetime) -> None:
        self.at = at
        self._start = at

    def __call__(self) -> datetime:
        return self.at

    def reading(self) -> WatchReading:
        """The same as a watch."""
        return WatchReading(self.at, (self.at - self._start).total_seconds())


def build(path: Path, today: date) -> None:
    """Make a database of the demo, all of it moved by whole days so that it ends yesterday.

    Each entry goes through the game and the store as if it were typed. Raises StoreError,
    BadJournal.
    """
    catalogue = load([bundled("games")])
    text = (bundled("demo_data") / JOURNAL).read_text(encoding="utf-8")
    journal = parse_journal(text, catalogue)
    moved = today - timedelta(days=1) - journal.parts[-1].at.date()
    clock = HandClock(journal.parts[0].at + moved)
    with Store.open(path, clock, throwaway=True) as store:
        people = {person.name: _added(store, person) for person in journal.players}
        teller = Teller(store, catalogue, clock, people)
        for part in journal.parts:
            teller.tell(part, moved)


class Teller:
    """Plays the parts of a journal into a store. clock: the store's. people: by name."""

    def __init__(
        self, store: Store, catalogue: Catalogue, clock: HandClock, people: dict[str, PlayerInfo]
    ) -> None:
        self.store = store
        self.catalogue = catalogue
        self.clock = clock
        self.people = people

    def tell(self, part: Part, moved: timedelta) -> None:
        """Play one part, so much later. Raises BadJournal, with the line, at what can't be."""
        self.clock.at = part.at + moved
        times = [at + moved for at in part.times()]
        match part:
            case PlayedRun():
                playing = self.store.begin(self.people[part.player].id, part.drill)
                playing.append_all(part.run().entries, times)
            case PlayedSession():
                self._session(part, times)
            case PlayedMatch():
                self._match(part, times)
            case PlayedCard():
                self._round(part, times)

    def _session(self, part: PlayedSession, times: list[datetime]) -> None:
        plan, player = part.plan(), self.people[part.player]
        limits = Limits(plan.minutes, plan.balls)
        ledger = Ledger.start(self.store, player, plan, limits, self.clock.reading)
        playing: Playing | None = None
        for typed, at in zip(part.typed, times, strict=True):
            while self.clock.at < at:
                # A longer step would be a pause.
                self.clock.at = min(at, self.clock.at + timedelta(seconds=GAP))
                ledger.tick()
            try:
                playing = self._in_session(ledger, playing, typed.text)
            except Refused as error:
                raise _at(typed, error) from None

    def _in_session(self, ledger: Ledger, playing: Playing | None, text: str) -> Playing | None:
        """Do what was typed; the run of the block after it, which an undo may open again."""
        block = ledger.session.now
        if text == "ball":
            ledger.ball()
        elif text == "reveal":
            ledger.reveal()
        elif text == "done":
            ledger.done()
            return None
        elif block is not None and block.block.kind == "find":
            ledger.carry(text)
        elif block is None or block.block.drill is None:
            raise Refused(f"{text!r}: no game is in hand")
        else:
            if playing is None:
                stocks = in_force(self.store.stock_carries(ledger.player.id))
                drill = drill_of(block.block, self.catalogue, ledger.player.unit, stocks)
                playing = ledger.begin(drill)
            playing.append(entry_of(text, playing.run.ask))
            ledger.entered(playing)
        return playing

    def _match(self, part: PlayedMatch, times: list[datetime]) -> None:
        seats = [Seat(self.people[name], part.drill) for name in part.players]
        setup = Setup(part.players, part.turns, tie=part.tie)
        desk = MatchDesk.start(self.store, self.catalogue.games, seats, setup)
        for typed, self.clock.at in zip(part.typed, times, strict=True):
            try:
                desk.keep(entry_of(typed.text, desk.playing().run.ask))
            except Refused as error:
                raise _at(typed, error) from None

    def _round(self, part: PlayedCard, times: list[datetime]) -> None:
        course, rounds = part.course, self.store.rounds
        data = {"holes": list(part.numbers)}
        day = self.clock.at.date()
        new = NewRound(day, part.form, course.id, course.as_kept, part.tee, data)
        (info,) = rounds.add(self.people[part.player].id, new)
        for seq, (hole, self.clock.at) in enumerate(zip(part.holes(), times, strict=True), 1):
            rounds.tell(info.id, seq, "hole", told_hole(hole))
        rounds.tell(info.id, len(times) + 1, "finished")


def _at(typed: TypedLine, error: Refused) -> BadJournal:
    return BadJournal(f"line {typed.line}: {error}")


def _added(store: Store, person: Person) -> PlayerInfo:
    fields = dict(person.fields)
    index, goal = fields.pop("index", None), fields.pop("goal", None)
    info = store.add_player(person.name, index=None if index is None else Decimal(index))
    if goal is not None:
        store.intents.set_goal(info.id, Decimal(goal), None)
    return store.change_player(info.id, **fields)
