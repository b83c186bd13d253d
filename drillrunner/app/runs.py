"""Runs of the player of now: begun, and gone on with."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, cast

from drillrunner.app import doors
from drillrunner.app.bare import Bare, BareScreen
from drillrunner.app.dialog import Choice
from drillrunner.app.drills import Drills
from drillrunner.app.early import AsListed, Early, early
from drillrunner.app.people import People
from drillrunner.app.records import Records
from drillrunner.app.sessions import Sessions
from drillrunner.catalogue.errors import BadDrill, NeedsStock
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.app.session_desk import Desk
    from drillrunner.catalogue.drill import Drill
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store


class Runs:
    """A run of whose session goes on is played in it."""

    def __init__(
        self, app: Bare, records: Records, drills: Drills, people: People, sessions: Sessions
    ) -> None:
        self.app = app
        self.records = records
        self.drills = drills
        self.people = people
        self.sessions = sessions
        self.half_typed: dict[tuple[str, str], str] = {}
        """What stood in the line when a run was left, by player and fingerprint of the drill."""
        self._early: tuple[Early, BareScreen] | None = None
        """A run that was opened before the records, and its screen."""

    def play_early(self, run: Early) -> None:
        """Open a new run before the records: what is typed is written as soon as they are open."""
        # It has all that a screen reads of a run; it is never asked to write.
        self._show(cast("Playing", run))
        assert isinstance(self.app.screen, BareScreen)
        self._early = run, self.app.screen

    @property
    def unread(self) -> bool:
        """Whether the drill of the run on screen is still to be read, before it takes a ball."""
        return self._early is not None and isinstance(self._early[0].drill, AsListed)

    def take_up(self, drill: Drill | None) -> Early | None:
        """The drill of a run that was shown as it was listed is read: its run, from now on.

        `None` if it can't be read, or be begun, as it was listed: the screen is left, and what can
        be read is opened in the usual way.
        """
        assert self._early is not None
        (_, screen), self._early = self._early, None
        run = None if drill is None else early(self.records.facts, drill)
        if run is not None:
            screen.takes_up(cast("Playing", run))
            self._early = run, screen
            return run
        self.app.instead_of_play()
        if drill is not None:
            self.play(drill)
        return None

    def settle(self, store: Store) -> None:
        """The records are open: a run that was opened before them gets its place there."""
        if self._early is not None and self._early[1] in self.app.screen_stack:
            run, screen = self._early
            assert not isinstance(run.drill, AsListed)
            screen.takes_up(store.begin(run.player.id, run.drill))
        self._early = None
        self.records.begin_writing()

    def play(self, drill: Drill) -> None:
        """Play a drill; an open run of it is offered first."""
        player = self.app.player
        if player is None:
            self.people.waiting = partial(self.play, drill)
            self.records.with_store(self.people.settle)
            return
        self.records.with_store(lambda store: self._offer(store, player, drill))

    def _offer(self, store: Store, player: PlayerInfo, drill: Drill) -> None:
        from drillrunner.practice.carries.stock import in_force
        from drillrunner.practice.sessions.plan import as_played

        try:
            fitted = as_played(drill, player.unit, in_force(store.stock_carries(player.id)))
        except (BadDrill, NeedsStock) as error:
            self.app.say(str(error))
            return
        waiting = store.open_run(player.id, drill.id)
        if waiting is None:
            self._begin(store, player, fitted)
            return

        def answered(choice: str | None) -> None:
            if choice == "on":
                self.go_on(waiting.run)
            elif choice == "anew":
                self.records.with_store(
                    lambda store: self._anew(store, player, waiting.run, fitted)
                )

        self.app.push_screen(
            Choice(
                waiting.title,
                (
                    (
                        "on",
                        "go on",
                        f"with the run as you left it: {numbered(waiting.counted, 'ball')}",
                    ),
                    ("anew", "give up and start anew", "it is kept, but can't be a best"),
                ),
                f"{player.name} has an open run.",
            ),
            answered,
        )

    def _anew(self, store: Store, player: PlayerInfo, run: str, drill: Drill) -> None:
        store.give_up(run)
        self._begin(store, player, drill)

    def _begin(self, store: Store, player: PlayerInfo, drill: Drill) -> None:
        desk = self.sessions.desk
        if desk is not None and desk.plays_for(player):
            self._play_in_session(desk, partial(desk.ledger.begin, drill))
        else:
            self._show(store.begin(player.id, drill))

    def go_on(self, run: str) -> None:
        """Go on with an open run; with the match that it belongs to while that is open."""

        def resume(store: Store) -> None:
            stored = store.run(run)
            match = None if stored is None else stored.match_id
            if match is not None and store.match(match).ended_at is None:
                self.app.open(doors.OpenMatch(match))
            else:
                self._go_on(store.resume(run, self.drills.catalogue.games))

        self.records.with_store(resume)

    def _go_on(self, playing: Playing) -> None:
        desk = self.sessions.desk
        if desk is not None and desk.plays_for(playing.player):
            self._play_in_session(desk, partial(desk.ledger.take_up, playing))
        else:
            self._show(playing)

    def _play_in_session(self, desk: Desk, begin: Callable[[], Playing]) -> None:
        from drillrunner.rules.run import Refused

        try:
            playing = begin()
        except Refused as refused:
            self.app.say(str(refused))
        else:
            desk.look()
            self._show(playing, doors.PlayInSession)

    def _show(self, playing: Playing, door: type[doors.Play] = doors.Play) -> None:
        self.app.open(door(playing, playing.best_before))
