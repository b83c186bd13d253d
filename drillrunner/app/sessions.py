"""The app's timed session: begun, gone on with, ended. Its acts are bound on every screen."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

from textual.binding import BindingType

from drillrunner.app import doors
from drillrunner.app.bare import Bare
from drillrunner.app.dialog import Choice
from drillrunner.app.drills import Drills
from drillrunner.app.keys import key
from drillrunner.app.records import Records

if TYPE_CHECKING:
    from drillrunner.app.session_desk import Desk
    from drillrunner.catalogue.plans import Plan
    from drillrunner.practice.sessions.keeper import Watch
    from drillrunner.practice.sessions.plan import Wanted
    from drillrunner.practice.sessions.session import Limits
    from drillrunner.services.ledger import Ledger
    from drillrunner.store.shapes import OpenSession, SessionInfo
    from drillrunner.store.store import Store

BINDINGS: list[BindingType] = [
    key("pause", "session.pause", "session('pause')"),
    key("more", "session.more", "session('more')"),
    key("put_back", "session.put_back", "session('back')"),
    key("next_block", "session.next", "session('next')"),
    key("skip", "session.skip", "session('skip')"),
    key("bring_back", "session.bring_back", "session('bring_back')"),
    key("stop", "session.stop", "session('stop')"),
    key("bell", "session.bell", "session('bell')"),
]
"""What the app binds, so that it works on every screen."""


class Sessions:
    """watch: the clocks of sessions; the computer's own unless given.

    `desk` is the session of now. Nothing here imports what a session needs before there is one.
    """

    def __init__(self, app: Bare, records: Records, drills: Drills, watch: Watch | None) -> None:
        self.app = app
        self.records = records
        self.drills = drills
        self.desk: Desk | None = None
        self._watch_given = watch

    @property
    def watch(self) -> Watch:
        """The clocks that sessions go by."""
        if self._watch_given is None:
            from drillrunner.practice.sessions.keeper import system_watch

            self._watch_given = system_watch(self.app.clock)
        return self._watch_given

    # ---- begun, gone on with, ended ----

    def plan(self, wanted: Wanted | None = None) -> None:
        """Choose a plan and its limits; a session left open is offered first."""
        self.records.with_store(lambda _: self._plan_session(wanted))

    def _plan_session(self, wanted: Wanted | None) -> None:
        waiting = self.waiting
        if self.desk is None and waiting is None:
            self._choose_plan(wanted)
            return

        def answered(choice: str | None) -> None:
            if choice == "on":
                self.go_on()
            elif choice == "anew":
                self._end_and_choose(wanted)

        title = "A session" if waiting is None else waiting.title
        self.app.push_screen(
            Choice(
                title,
                (
                    ("on", "go on", "where you left it"),
                    ("anew", "end it and plan anew", "all of it is kept"),
                ),
                "A session is open.",
            ),
            answered,
        )

    def _choose_plan(self, wanted: Wanted | None) -> None:
        self.app.open(doors.SessionSetup(wanted))

    def _end_and_choose(self, wanted: Wanted | None) -> None:
        from drillrunner.services.ledger import end_open

        if self.desk is not None:
            self.desk.close()
            self.app.down_to("home")

        def end(store: Store) -> None:
            player = self.app.player
            if player is not None:
                end_open(store, player, self.watch)

        self.records.in_turn("the end of the session", end, lambda _: self._choose_plan(wanted))

    def begin(self, plan: Plan, limits: Limits) -> None:
        """Start the clock on a plan, for the player of now."""
        from drillrunner.services.ledger import Ledger

        player = self.app.player
        if player is None:
            return

        id = str(uuid.uuid4())

        def begin(store: Store) -> Ledger:
            return Ledger.start(store, player, plan, limits, self.watch, id)

        def begun(ledger: Ledger) -> None:
            self.desk = self._desk_of(ledger)
            self.desk.open()

        self.records.in_turn("the session", begin, begun)

    def go_on(self) -> None:
        """Go on with the session that goes on, or that was left open."""
        from drillrunner.services.ledger import Ledger, faults_of

        waiting = self.waiting
        if self.desk is not None:
            self.desk.open()
            return
        if waiting is None:
            return

        def take_up(store: Store) -> tuple[SessionInfo, Ledger]:
            info = store.session(waiting.id)
            return info, Ledger.taken_up(store, info, self.watch)

        def taken_up(taken: tuple[SessionInfo, Ledger]) -> None:
            info, ledger = taken
            self.desk = self._desk_of(ledger)
            self.desk.taken_up()
            self.records.left_out(faults_of(info))

        self.records.in_turn("the session", take_up, taken_up)

    def _desk_of(self, ledger: Ledger) -> Desk:
        from drillrunner.app.session_desk import Desk

        return Desk(self.app, self.records, self.drills, ledger, self._closed)

    def _closed(self) -> None:
        self.desk = None
        self.app.session_face = None
        self.app.refresh_bindings()

    @property
    def waiting(self) -> OpenSession | None:
        """The latest session of the player of now that was left open, unless one goes on."""
        player = self.app.player
        if player is None or self.desk is not None:
            return None
        return next((s for s in self.records.facts.open_sessions if s.player_id == player.id), None)

    # ---- what can be done, on every screen ----

    def can(self, act: str) -> bool:
        """Whether one of the acts bound here makes sense now."""
        return self.desk is not None and self.desk.can(act)

    def do(self, act: str) -> None:
        """Do one of the acts bound here."""
        if self.desk is not None:
            self.desk.do(act)
