"""An app with a timed session: its acts are bound here, so that each works on every screen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import Binding, BindingType
from textual.reactive import reactive

from drillrunner.app import facts
from drillrunner.app.records import RecordsApp

if TYPE_CHECKING:
    from drillrunner.app.app import DrillrunnerApp
    from drillrunner.app.session_desk import Desk
    from drillrunner.app.widgets.session_clock import Face
    from drillrunner.catalogue.plans import Plan
    from drillrunner.practice.sessions.keeper import Watch
    from drillrunner.practice.sessions.plan import Wanted
    from drillrunner.practice.sessions.session import Limits
    from drillrunner.services.ledger import Ledger
    from drillrunner.store.shapes import OpenSession, PlayerInfo
    from drillrunner.store.store import Store


class SessionApp(RecordsApp):
    """watch: the clocks of sessions; the computer's own unless given. session: open this at once.

    `desk` is the session of now. Nothing here imports what a session needs before there is one.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "f5,p",
            "session('pause')",
            "Pause, or go on",
            show=False,
            id="session.pause",
            tooltip="Stop the session's clock: no balls, or the range is being picked",
        ),
        Binding(
            "f6,m",
            "session('more')",
            "More time",
            show=False,
            id="session.more",
            tooltip="Two minutes and five balls more for this block",
        ),
        Binding(
            "f7,b",
            "session('back')",
            "Put back",
            show=False,
            id="session.put_back",
            tooltip="Do this block after the next one; it keeps the time that it has left",
        ),
        Binding(
            "f8,d",
            "session('next')",
            "Next block",
            show=False,
            id="session.next",
            tooltip="This block is done; a game in play is left open",
        ),
        Binding(
            "k",
            "session('skip')",
            "Skip block",
            show=False,
            id="session.skip",
            tooltip="Go on without this block; it can be brought back",
        ),
        Binding(
            "v",
            "session('bring_back')",
            "Bring back",
            show=False,
            id="session.bring_back",
            tooltip="Do a block that was skipped or dropped after all, next",
        ),
        Binding(
            "f9,x",
            "session('stop')",
            "Stop session",
            show=False,
            id="session.stop",
            tooltip="End the session at once; everything is kept",
        ),
        Binding(
            "j",
            "session('bell')",
            "Bell on or off",
            show=False,
            id="session.bell",
            tooltip="Whether a bell rings when a block's time is up",
        ),
    ]

    player: reactive[PlayerInfo | None] = reactive(None)
    session_face: reactive[Face | None] = reactive(None)

    def __init__(
        self,
        database: str,
        clock: Callable[[], datetime] | None,
        watch: Watch | None = None,
        session: Wanted | None = None,
    ) -> None:
        super().__init__(database, clock)
        self.desk: Desk | None = None
        self.facts = facts.NOTHING
        """What is known of the records without asking them."""
        self.wanted_session = session
        self._watch_given = watch

    @property
    def session_watch(self) -> Watch:
        """The clocks that sessions go by."""
        if self._watch_given is None:
            from drillrunner.practice.sessions.keeper import system_watch

            self._watch_given = system_watch(self.clock)
        return self._watch_given

    # ---- begun, gone on with, ended ----

    def plan_session(self, wanted: Wanted | None = None) -> None:
        """Choose a plan and its limits; a session left open is offered first."""
        self.with_store(lambda _: self._plan_session(wanted))

    def _plan_session(self, wanted: Wanted | None) -> None:
        from drillrunner.app.screens.dialog import Choice

        waiting = self.waiting_session
        if self.desk is None and waiting is None:
            self._choose_plan(wanted)
            return

        def answered(choice: str | None) -> None:
            if choice == "on":
                self.go_on_with_session()
            elif choice == "anew":
                self._end_and_choose(wanted)

        title = "A session" if waiting is None else waiting.title
        self.push_screen(
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
        from drillrunner.app.screens.session_setup import SessionSetupScreen

        self.push_screen(SessionSetupScreen(wanted))

    def _end_and_choose(self, wanted: Wanted | None) -> None:
        from drillrunner.services.ledger import end_open

        if self.desk is not None:
            self.desk.close()

        def end(store: Store) -> None:
            player = self.player
            if player is not None:
                end_open(store, player, self.session_watch)
            self._choose_plan(wanted)

        self.with_store(end)

    def begin_session(self, plan: Plan, limits: Limits) -> None:
        """Start the clock on a plan, for the player of now."""
        from drillrunner.services.ledger import Ledger

        player = self.player
        if player is None:
            return

        def begin(store: Store) -> None:
            self.desk = self._desk_of(Ledger.start(store, player, plan, limits, self.session_watch))
            self.desk.open()

        self.with_store(begin)

    def go_on_with_session(self) -> None:
        """Go on with the session that goes on, or that was left open."""
        from drillrunner.services.ledger import Ledger

        if self.desk is not None:
            self.desk.open()
            return

        def go_on(store: Store) -> None:
            waiting = self.waiting_session
            if waiting is not None:
                info = store.session(waiting.id)
                self.desk = self._desk_of(Ledger.go_on(store, info, self.session_watch))
                self.desk.taken_up()

        self.with_store(go_on)

    def _desk_of(self, ledger: Ledger) -> Desk:
        from drillrunner.app.session_desk import Desk

        # The app is the only one of its kind: this class is a part of it.
        return Desk(cast("DrillrunnerApp", self), ledger)

    @property
    def waiting_session(self) -> OpenSession | None:
        """The latest session of the player of now that was left open, unless one goes on."""
        player = self.player
        if player is None or self.desk is not None:
            return None
        return next((s for s in self.facts.open_sessions if s.player_id == player.id), None)

    # ---- what can be done, on every screen ----

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "session":
            return self.desk is not None and self.desk.can(str(parameters[0]))
        return True

    def action_session(self, act: str) -> None:
        """Do one of the acts bound here."""
        if self.desk is not None:
            self.desk.do(act)
