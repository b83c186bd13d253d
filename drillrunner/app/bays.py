"""A match between bays: opened on one screen, joined by a number on others, and followed."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from drillrunner.app import doors, match_start
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.host import Host
from drillrunner.catalogue.drill import BadDrill, NeedsStock
from drillrunner.practice.matches.match import FEWEST_PLAYERS, MOST_PLAYERS, drawn_by_lot
from drillrunner.practice.matches.presence import Presence
from drillrunner.practice.matches.record import Setup, common_unit
from drillrunner.rules.run import Refused
from drillrunner.rules.units import numbered
from drillrunner.store.errors import StoreError

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.services.match_desk import MatchDesk, Seat
    from drillrunner.store.gatherings import Gathering
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

FOLLOWED = 0.5
"""Seconds between two looks at how a match stands: every board follows within a second."""
BEAT = 4.0
"""Seconds between two times that a screen says that it is there."""


class Stand(NamedTuple):
    """How a match between bays stands, and whose screens are away."""

    gathering: Gathering
    away: frozenset[str]


class Lookout:
    """What a screen asks again and again, in a thread.

    number: of the gathering. me: the id of who plays here.
    """

    def __init__(
        self, store: Store, number: int, me: str, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._store = store
        self._number = number
        self._me = me
        self._clock = clock
        self._presence = Presence(clock)
        self._beaten: float | None = None

    def look(self, here: bool) -> Stand:
        """How it stands. here: whether anybody sees this screen, which others are told.

        Raises StoreError.
        """
        now = self._clock()
        if here and (self._beaten is None or now - self._beaten >= BEAT):
            self._store.gatherings.beat(self._number, self._me)
            self._beaten = now
        elif not here and self._beaten is not None:
            self.go()
        found = self._store.gatherings.look(self._number)
        others = [(one.id, one.beats) for one in found.players if one.id != self._me]
        return Stand(found, self._presence.away(others))

    def go(self) -> None:
        """Say that this screen goes. Raises StoreError."""
        self._beaten = None
        self._store.gatherings.beat(self._number, self._me, here=False)


def going(watch: Lookout) -> None:
    """Say that a screen goes; where that can't be told, its silence tells it."""
    with suppress(StoreError):
        watch.go()


# ---- how it comes about ----


def go_to(app: Host, door: doors.WaitForOthers | doors.JoinOthers) -> None:
    """Open one, or join one, as the player of now."""
    if isinstance(door, doors.JoinOthers):
        join_by(app, door.code)
    else:
        open_one(app, door.drill, door.setup)


def open_one(
    app: Host, drill: Drill, setup: Setup, opened: Callable[[], object] = lambda: None
) -> None:
    """Open a match that others join by a number, as the player of now.

    opened: called once it is open, before it is shown.
    """
    app.records.with_store(lambda store: _open(app, store, drill, setup, opened))


def _open(
    app: Host, store: Store, drill: Drill, setup: Setup, opened: Callable[[], object]
) -> None:
    from drillrunner.services.match_desk import seat_data

    player = app.player
    if player is None:
        app.people.waiting = partial(open_one, app, drill, setup, opened)
        app.people.settle(store)
        return
    data: dict[str, Any] = {**seat_data(drill), "title": drill.title, "turns": setup.turns}
    data |= {"draw": setup.draw, "tie": setup.tie, "fair": setup.fair}

    def go_on(store: Store) -> None:
        found = store.gatherings.open(player.id, data)
        opened()
        app.open(doors.BetweenBays(found.number))

    _free(app, store, player, drill.id, go_on, lambda: None)


def _free(
    app: Host,
    store: Store,
    player: PlayerInfo,
    drill: str,
    then: Callable[[Store], object],
    back: Callable[[], object],
) -> None:
    """An open run of the drill is settled by the one whose it is, before anybody waits for it."""
    waiting = store.open_run(player.id, drill)
    if waiting is None:
        then(store)
        return

    def answered(choice: str | None) -> None:
        if choice == "anew":
            app.records.with_store(given_up)
            return
        back()
        if choice == "first":
            app.runs.go_on(waiting.run)

    def given_up(store: Store) -> None:
        store.give_up(waiting.run)
        then(store)

    # An Enter that bounces answers with the first row.
    rows = (
        ("first", "finish that one first", "then come to the match again"),
        ("anew", "give it up and play the match", "it is kept, but can't be a best"),
    )
    so_far = numbered(waiting.counted, "ball")
    said = f"{waiting.title}: {so_far} so far. One run of a drill at a time."
    app.push_screen(Choice("You have an open run", rows, said, back="no match"), answered)


def bad_code(text: str) -> str | None:
    """Why a text is no number of a match."""
    return None if re.fullmatch(r"[0-9]{4}", text) else "expected the four digits of the other bay"


def join(app: Host) -> None:
    """Ask for the number of a match that waits in another bay, and join it."""

    def told(code: str | None) -> None:
        if code:
            join_by(app, code)

    if app.player is not None:
        words = "The four digits that stand on the screen of who opened it."
        app.push_screen(Question("Join a match between bays", words, check=bad_code), told)


def join_by(app: Host, code: str) -> None:
    """Join the match of a number, as the player of now."""
    app.records.with_store(lambda store: _join(app, store, code))


def _join(app: Host, store: Store, code: str) -> None:
    player = app.player
    assert player is not None
    try:
        found = store.gatherings.join(code, player.id, MOST_PLAYERS)
        drill = drill_of(app, found)
    except (Refused, ValueError) as error:
        app.say(str(error))
        return

    def leave() -> None:
        app.records.with_store(lambda store: store.gatherings.leave(found.number, player.id))

    def go_on(store: Store) -> None:
        if found.match is None:
            app.open(doors.BetweenBays(found.number))
        else:
            _join_late(app, store, found.match, player)

    _free(app, store, player, drill.id, go_on, leave)


def _join_late(app: Host, store: Store, match: str, player: PlayerInfo) -> None:
    """Come into a match that has begun, before its first ball, or come back to it."""
    from drillrunner.services.match_desk import MatchDesk

    try:
        desk = MatchDesk.resume(store, app.drills.catalogue.games, match, player.id)
        match_start.take_seat(store, desk, player.id)
    except (Refused, BadDrill, NeedsStock) as error:
        app.say(str(error))
    else:
        match_start.show(app, desk)


def drill_of(app: Host, found: Gathering) -> Drill:
    """What is played in it. Raises ValueError where its game is not here."""
    from drillrunner.services.match_desk import drill_of_seat

    return drill_of_seat(found.data, app.drills.catalogue.games)


def begin_gathered(app: Host, number: int) -> None:
    """Begin with those who have joined, as the one who opened it."""
    app.records.with_store(lambda store: _start(app, store, store.gatherings.look(number)))


def _start(app: Host, store: Store, found: Gathering) -> None:
    data, players = found.data, [store.player_of(one.id) for one in found.players]
    names = tuple(one.name for one in players)
    if not FEWEST_PLAYERS <= len(players) <= MOST_PLAYERS:
        app.say(f"expected {FEWEST_PLAYERS} to {MOST_PLAYERS} players: others join by the number")
        return
    if data["draw"]:
        order = drawn_by_lot(names, app.clock().isoformat())
        players.sort(key=lambda one: order.index(one.name))
    try:
        drill = drill_of(app, found)
        unit = common_unit([one.unit for one in players], drill.unit)
        seats: list[Seat] = [match_start.seat_for(store, one, drill, unit) for one in players]
    except (BadDrill, NeedsStock, ValueError) as error:
        app.say(str(error))
        return
    setup = Setup(
        tuple(one.name for one in players),
        data["turns"],
        tie=data["tie"],
        fair=data["fair"],
        gathering=found.number,
    )
    if setup.fair:
        app.open(doors.MatchFair(seats, setup))
    else:
        match_start.open_match(app, store, seats, replace(setup, fair=False))


# ---- in play ----


class Board(Protocol):
    """As of `match_start`. away: whose screens are away."""

    desk: MatchDesk
    away: frozenset[str]

    def moved(self, move: Callable[[], object]) -> None: ...


def who_goes(app: Host, screen: Board) -> None:
    """Who may come or go here: oneself, and somebody whose screen is away."""
    desk = screen.desk
    rows = []
    for line in desk.board:
        player, name = line.entrant.id, line.entrant.name
        if player == desk.own:
            if line.present:
                rows.append((f"leave:{player}", "you leave", "your score stands, your run is open"))
            else:
                rows.append((f"join:{player}", "you come back", "in the round that is on"))
        elif line.present and player in screen.away:
            said = "whose screen is away; they can come back"
            rows.append((f"leave:{player}", f"go on without {name}", said))

    def answered(choice: str | None) -> None:
        if choice is not None:
            what, _, player = choice.partition(":")
            seat = match_start.seat_in(desk, player)
            screen.moved(
                partial(desk.leave, player) if what == "leave" else partial(desk.join, seat)
            )

    app.push_screen(Choice("Leave or come back", rows), answered)
