"""How a match comes about: who plays, what is in the way, a fair fight agreed on, and taken up."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from functools import partial
from typing import TYPE_CHECKING, Protocol

from drillrunner.app import doors
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.fields import about_of, bad_name
from drillrunner.app.host import Host
from drillrunner.app.people import ask_about
from drillrunner.catalogue.drill import BadDrill, NeedsStock
from drillrunner.practice.matches.match import drawn_by_lot
from drillrunner.practice.matches.record import Newcomer, Setup, common_unit
from drillrunner.rules.run import Refused
from drillrunner.rules.units import numbered
from drillrunner.store.errors import DiskTrouble, StoreError

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.practice.matches.challenge import Challenge
    from drillrunner.rules.units import Unit
    from drillrunner.services.match_desk import MatchDesk, Seat
    from drillrunner.store.shapes import PlayerInfo, StoredRun
    from drillrunner.store.store import Store

Against = tuple["Challenge", str]
"""What is played against, and the text of its file."""


def start(app: Host, drill: Drill, setup: Setup) -> None:
    """Start a match; new names are added. What is in the way is asked about first."""
    app.records.with_store(lambda store: _gather(app, store, drill, setup))


def accept(app: Host, against: Against) -> None:
    """Play against a challenge, as the player of now."""
    assert app.player is not None
    setup = Setup((app.player.name,))
    app.records.with_store(lambda store: _gather(app, store, against[0].drill, setup, against))


def again(app: Host, desk: MatchDesk) -> None:
    """The same match once more: the same players, each with the drill as it was set for them."""
    seats = [seat_in(desk, player) for player in desk.people]
    setup = Setup(tuple(seat.player.name for seat in seats), desk.record.turns, tie=desk.record.tie)
    against = None
    if desk.ghost is not None and desk.record.challenge is not None:
        against = desk.ghost, desk.record.challenge
    app.records.with_store(lambda store: _free(app, store, seats, setup, against, True))


def seat_in(desk: MatchDesk, player: str) -> Seat:
    """A player's place in a match as it is."""
    from drillrunner.services.match_desk import Seat

    return Seat(desk.people[player], desk.drills[player])


def _gather(
    app: Host,
    store: Store,
    drill: Drill,
    setup: Setup,
    against: Against | None = None,
) -> None:
    names = setup.players
    if setup.draw:
        names = drawn_by_lot(names, app.clock().isoformat())
    new = {one.name: one for one in setup.new}
    people = [store.player(name) or add(store, new.get(name, Newcomer(name))) for name in names]
    unit = drill.unit if against else common_unit([one.unit for one in people], drill.unit)
    try:
        seats = [seat_for(store, player, drill, unit) for player in people]
    except (BadDrill, NeedsStock) as error:
        app.say(str(error))
        return
    app.records.refresh()
    _free(app, store, seats, setup, against, False)


def add(store: Store, newcomer: Newcomer) -> PlayerInfo:
    """Somebody new, with what was said of them."""
    player = store.add_player(newcomer.name, index=newcomer.index)
    if newcomer.column is None:
        return player
    return store.change_player(player.id, column=newcomer.column)


def ask_who(
    app: Host, title: str, known: Collection[str], then: Callable[[Newcomer], object]
) -> None:
    """Ask for a name, and in one more line who is new for index and card; Enter leaves them out.

    known: names that nothing more is asked of.
    """

    def named(name: str | None) -> None:
        if not name:
            return
        same = {one.casefold(): one for one in known}.get(name.strip().casefold())
        if same is not None:
            then(Newcomer(same))
            return

        def told(typed: str | None) -> None:
            if typed is not None:
                then(Newcomer(name, *about_of(typed)))

        ask_about(app, name, told)

    app.push_screen(Question(title, check=bad_name), named)


def seat_for(store: Store, player: PlayerInfo, drill: Drill, unit: Unit) -> Seat:
    """A player's place: the drill in the unit of the match, aimed at their own stock carry.

    Raises BadDrill, NeedsStock.
    """
    from drillrunner.practice.carries.stock import in_force
    from drillrunner.practice.sessions.plan import as_played
    from drillrunner.services.match_desk import Seat

    try:
        return Seat(player, as_played(drill, unit, in_force(store.stock_carries(player.id))))
    except NeedsStock as error:
        raise NeedsStock(f"{player.name}: {error}") from error


def _free(
    app: Host,
    store: Store,
    seats: Sequence[Seat],
    setup: Setup,
    against: Against | None,
    agreed: bool,
) -> None:
    """Ask once about all the runs that are open, then go on."""
    found = [store.open_run(seat.player.id, seat.drill.id) for seat in seats]
    waiting = [run for run in found if run is not None]
    if waiting:
        again = partial(_free, seats=seats, setup=setup, against=against, agreed=agreed)
        _ask_about(app, store, waiting, partial(again, app))
        return
    if setup.fair and not agreed:
        app.open(doors.MatchFair(seats, setup))
        return
    open_match(app, store, seats, setup, against)


def _ask_about(
    app: Host, store: Store, waiting: Sequence[StoredRun], then: Callable[[Store], object]
) -> None:
    """One question about the open runs of all who play."""
    open_matches = {match.id for match in store.open_matches()}
    theirs = {run.match_id for run in waiting if run.match_id in open_matches}

    def answered(choice: str | None) -> None:
        if choice == "anew":
            app.records.with_store(given_up)
        elif choice == "first":
            app.runs.go_on(waiting[0].run)

    def given_up(store: Store) -> None:
        for match in theirs:
            store.change_match(str(match), ends=True)
        for run in waiting:
            store.give_up(run.run)
        then(store)

    names = [run.player for run in waiting]
    if len(waiting) == 1:
        title, them = f"{names[0]} has an open run", "it"
        said = f"{numbered(waiting[0].counted, 'ball')} so far. One run of a drill at a time."
    else:
        title, them = f"{', '.join(names[:-1])} and {names[-1]} have open runs", "them all"
        said = "One run of a drill at a time."
    if theirs:
        first = ("first", "go on with the open match", "the new one is started after it")
    elif len(waiting) == 1:
        first = ("first", "finish that one first", "the match is started again after it")
    else:
        first = ("first", f"finish {names[0]}'s first", "then start the match again")
    rows = (first, ("anew", f"give {them} up and start the match", "kept, but no best"))
    app.push_screen(
        Choice(title, rows, f"{waiting[0].title}: {said}", back="no match"),
        answered,
    )


def open_match(
    app: Host,
    store: Store,
    seats: Sequence[Seat],
    setup: Setup,
    against: Against | None = None,
) -> None:
    """Begin the match and show it."""
    from drillrunner.services.match_desk import MatchDesk

    try:
        own = app.player.id if setup.gathering is not None and app.player else None
        games = app.drills.catalogue.games
        desk = MatchDesk.start(store, games, seats, setup, against, own)
    except Refused as refused:
        app.say(str(refused))
    except StoreError as error:
        # Between bays somebody else's open run may be in the way, which only they can settle.
        if setup.gathering is None:
            raise
        app.say(str(error))
    else:
        show(app, desk)


def go_on(app: Host, match_id: str) -> None:
    """Go on with a match that was left open; one that can't be gone on with can be closed."""

    def resume(store: Store) -> None:
        from drillrunner.services.match_desk import MatchDesk

        try:
            own = own_in(app, store, match_id)
            desk = MatchDesk.resume(store, app.drills.catalogue.games, match_id, own)
            if own is not None:
                take_seat(store, desk, own)
        except (Refused, BadDrill, NeedsStock) as error:
            app.say(str(error))
        except DiskTrouble:
            # Nothing is the matter with the match: the same can be tried again.
            raise
        except StoreError as error:
            _offer_to_close(app, match_id, str(error))
        else:
            show(app, desk)

    app.records.with_store(resume)


def take_seat(store: Store, desk: MatchDesk, player: str) -> None:
    """Give a player, by id, a seat in a match between bays that began without them.

    Raises Refused once it has had its first ball; BadDrill, NeedsStock.
    """
    if player not in desk.people:
        written = desk.as_written
        desk.join(seat_for(store, store.player_of(player), written, written.unit))


def own_in(app: Host, store: Store, match: str) -> str | None:
    """Who plays here, by id, in a match between bays; `None` for one on one screen.

    Raises StoreError for a match of others.
    """
    found = store.gatherings.of_match(match)
    if found is None:
        return None
    me = app.player
    if me is None or me.id not in {one.id for one in found.players}:
        raise StoreError("this match is played between bays, by others")
    return me.id


def _offer_to_close(app: Host, match_id: str, why: str) -> None:
    def answered(choice: str | None) -> None:
        if choice == "close":
            app.records.with_store(close)

    def close(store: Store) -> None:
        store.change_match(match_id, ends=True)
        app.records.refresh()

    rows = (("close", "close it", "every run is kept; open ones can be finished alone"),)
    app.push_screen(Choice("The match", rows, why), answered)


def show(app: Host, desk: MatchDesk) -> None:
    """Show a match as it stands, in the place of whatever is played now."""
    if desk.turn is None:
        app.instead_of_play()
        app.open(doors.MatchResult(desk))
    else:
        app.open(doors.MatchPlay(desk))


class Board(Protocol):
    """A match on the screen. moved: do something to the match that may be refused; show it."""

    desk: MatchDesk

    def moved(self, move: Callable[[], object]) -> None: ...


def people(app: Host, screen: Board) -> None:
    """Ask who comes or goes, and let them."""
    app.records.with_store(lambda store: _people(app, store, screen))


def _people(app: Host, store: Store, screen: Board) -> None:
    desk = screen.desk
    rows: list[tuple[str, str, str]] = []
    for line in desk.board:
        player, name = line.entrant.id, line.entrant.name
        if line.present:
            rows.append(
                (f"leave:{player}", f"{name} leaves", "the score stands, the run stays open")
            )
        else:
            rows.append((f"join:{player}", f"{name} comes back", ""))
    rows += [
        (f"join:{other.id}", f"{other.name} joins", "in the round that is on")
        for other in store.players()
        if other.id not in desk.people
    ]
    rows.append(("new", "+ somebody new joins", ""))
    names = [one.name for one in store.players(hidden=True)]

    def answered(choice: str | None) -> None:
        if choice == "new":
            ask_who(app, "Who joins?", names, partial(_join_new, app, screen))
        elif choice is not None:
            what, _, player = choice.partition(":")
            if what == "leave":
                screen.moved(lambda: desk.leave(player))
            else:
                app.records.with_store(lambda store: _join(store, screen, store.player_of(player)))

    app.push_screen(Choice("Join or leave", rows), answered)


def _join_new(app: Host, screen: Board, newcomer: Newcomer) -> None:
    app.records.with_store(
        lambda store: _join(store, screen, store.player(newcomer.name) or add(store, newcomer))
    )


def _join(store: Store, screen: Board, player: PlayerInfo) -> None:
    """Let someone in, with the drill as written in the unit of the match."""
    desk = screen.desk
    if player.id in desk.people:
        screen.moved(lambda: desk.join(seat_in(desk, player.id)))
        return
    written = desk.as_written

    def join() -> None:
        try:
            seat = seat_for(store, player, written, written.unit)
        except (BadDrill, NeedsStock) as error:
            raise Refused(str(error)) from error
        desk.join(seat)

    screen.moved(join)
