"""The app: it puts its parts together, opens the first screen, and opens what a door leads to."""

from __future__ import annotations

import asyncio
import gc
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import SystemCommand
from textual.binding import BindingType
from textual.filter import LineFilter
from textual.screen import Screen

from drillrunner.app import doors, facts, gaps, opener, sessions
from drillrunner.app.actions import acts
from drillrunner.app.bare import BREAKPOINTS, HEIGHTS, BareScreen, OneSize
from drillrunner.app.dialog import Choice, Palette, Unwritten
from drillrunner.app.drills import Drills
from drillrunner.app.early import AsListed, early, early_as_listed
from drillrunner.app.gate import LOOK
from drillrunner.app.host import Host
from drillrunner.app.keys import key
from drillrunner.app.people import People
from drillrunner.app.plain import PLAIN
from drillrunner.app.records import Records, Settled, StoreOpened, StoreRefused
from drillrunner.app.runs import Runs
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.sessions import Sessions
from drillrunner.app.themes import THEMES, StyleSheet
from drillrunner.catalogue.errors import BadDrill

if TYPE_CHECKING:
    from drillrunner.app.actions import Act
    from drillrunner.app.early import Early
    from drillrunner.app.match_start import Against
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.practice.matches.record import Setup
    from drillrunner.practice.sessions.keeper import Watch
    from drillrunner.practice.sessions.plan import Wanted
    from drillrunner.store.journal import Playing
    from drillrunner.store.store import Store


class DrillrunnerApp(Host):
    """database: path or URL. folders: where drills and games lie. player, drill, sets: open this
    drill, so set, for this player at once; one that is set already stands for itself. clock: gives
    the time with an offset. demo: say that the records are a throw-away copy. watch: the clocks of
    sessions. session: open this at once. match: who plays that drill together, and how. against: a
    challenge, and the text of its file.
    catalogue: what lies in the folders, if it was read already.
    first: what is opened at once, for who plays. board: the same, whoever plays.
    private: nobody's records are read but the player's.
    """

    TITLE = "drillrunner"
    CSS_PATH = Path(__file__).with_name("home.tcss")
    HORIZONTAL_BREAKPOINTS = BREAKPOINTS
    VERTICAL_BREAKPOINTS = HEIGHTS
    BINDINGS: ClassVar[list[BindingType]] = [
        key("help", "app.help", shown=True),
        key("players", "app.players"),
        key("look", "app.theme", "theme"),
        key("quit", "app.quit", priority=True),
        *sessions.BINDINGS,
    ]

    def __init__(
        self,
        *,
        database: str,
        folders: Sequence[Path],
        player: str | None = None,
        drill: str | Drill | None = None,
        sets: Sequence[str] = (),
        clock: Callable[[], datetime] | None = None,
        demo: bool = False,
        watch: Watch | None = None,
        session: Wanted | None = None,
        match: Setup | None = None,
        against: Against | None = None,
        catalogue: Catalogue | None = None,
        first: doors.Door | None = None,
        board: doors.Leaders | None = None,
        private: bool = False,
    ) -> None:
        super().__init__(clock)
        self.demo = demo
        self.wanted_drill = drill
        self.sets = tuple(sets)
        self.wanted_session = session
        self.wanted_match = match
        self.against = against
        self.first = first
        self.board = board
        for theme in THEMES.values():
            self.register_theme(theme)
        wanted = self.preferences.theme
        self.theme = wanted if wanted in THEMES else next(iter(THEMES))
        self.stylesheet: StyleSheet = StyleSheet(self.get_css_variables())
        self.records = Records(self, database, player, self._settle, private)
        self.set_reactive(DrillrunnerApp.player, self.records.facts.player)
        self.drills = Drills(self, folders, catalogue)
        self.people = People(self, self.records, player)
        self.sessions = Sessions(self, self.records, self.drills, watch)
        self._tried = False
        self.runs = Runs(self, self.records, self.drills, self.people, self.sessions)

    def get_line_filters(self) -> Sequence[LineFilter]:
        return (*super().get_line_filters(), PLAIN)

    # ---- start ----

    def get_default_screen(self) -> HomeScreen:
        self._early = self._early_run()
        return HomeScreen(covered=self._early is not None)

    def _early_run(self) -> Early | None:
        """The run that the app was started for, where it can be opened at once."""
        others = (self.first, self.against, self.wanted_match)
        if self.wanted_drill is None or any(other is not None for other in others):
            return None
        if isinstance(self.wanted_drill, str) and not self.sets:
            listed = self.drills.listed(self.wanted_drill)
            if listed is not None and (run := early_as_listed(self.records.facts, listed)):
                return run
        drill = self._wanted
        return None if drill is None else early(self.records.facts, drill)

    def on_mount(self) -> None:
        self.theme_changed_signal.subscribe(self, self._keep_theme)
        if (wanted := self._wanted_first()) is not None:
            self._open_first(wanted)
        if self.board is not None:
            self.open(self.board)
        elif self.people.named is None and self._nobody_yet:
            self.people.add()
        self.call_after_refresh(self.stands)

    @property
    def _nobody_yet(self) -> bool:
        return facts.nobody_yet(self.records.database, self.records.facts)

    def _open_first(self, wanted: Callable[[], object]) -> None:
        """Paint nothing, and keep what is typed, until what the app was started for stands."""
        self.gate.hold()
        self._begin_batch()

        def begin() -> None:
            wanted()
            self._tried = True

        self.people.waiting = begin
        self.records.open()
        # Not a worker: a question may stay open for as long as it likes.
        self._first = asyncio.create_task(self._until_first())

    async def _until_first(self) -> None:
        painted = False
        while self.gate.held:
            await asyncio.sleep(LOOK)
            if not (self.is_running and self.screen_stack):
                return
            screen = self.screen
            home, asks = self.at == "home", self.is_question(screen)
            if not painted and (not home or self._tried):
                self._end_batch()
                painted = True
            if asks:
                self.gate.await_screen(screen)
            elif not home:
                self.gate.release()
            elif self._tried and not self.is_waiting():
                # The answer to a question that just went may still be on its way to who asked it.
                await self.gate.passed(self)
                await self.gate.passed(screen)
                if self.screen is screen and not self.is_waiting():
                    # It could not be opened: home says why, and is no place for what was typed.
                    self.gate.drop()

    def stands(self) -> None:
        """The first screen stands. What follows imports much that was not needed for it."""
        if not gc.isenabled():
            gc.freeze()
            gc.enable()
        self.stylesheet.read_more(OneSize.CSS_PATH)
        if self.at == "home":
            self.drills.read()
            self.call_after_refresh(self.records.open)
        else:
            if self.runs.unread and (run := self.runs.take_up(self._wanted)):
                self._tell_gap(run)
            # What is typed in a run waits for the records; home can be told of its drills later.
            self.records.open()

    def _wanted_first(self) -> Callable[[], object] | None:
        """What the app was started for; `None` for nothing but itself, or if it is open already."""
        if self._early is not None:
            self.runs.play_early(self._early)
            return None
        if (first := self.first) is not None:
            return lambda: self.records.with_store(lambda _: self.open(first))
        if self.against is None and self.wanted_session is None and self.wanted_drill is None:
            return None
        if self.against is not None or self.wanted_match is not None:
            from drillrunner.app import match_start

        if self.against is not None:
            return partial(match_start.accept, self, self.against)
        drill = self._wanted
        if drill is not None and self.wanted_match is not None:
            return partial(match_start.start, self, drill, self.wanted_match)
        if drill is not None:
            return partial(self.runs.play, drill)
        if self.wanted_session is not None:
            return partial(self.sessions.plan, self.wanted_session)
        return None

    @cached_property
    def _wanted(self) -> Drill | None:
        """The drill that the app was started for, as set there; `None` (and a line) if wrong."""
        drill = self.wanted_drill
        if not isinstance(drill, str):
            return drill
        try:
            return self.drills.drill(drill).with_set(self.sets)
        except KeyError as error:
            self.start_trouble = str(error.args[0])
        except BadDrill as error:
            self.start_trouble = str(error)
        return None

    def _settle(self, store: Store) -> None:
        self.say(self.start_trouble or "")
        self.start_trouble = None
        self.runs.settle(store)
        if self.board is None:
            self.people.settle(store)

    @on(StoreOpened)
    def _store_opened(self, event: StoreOpened) -> None:
        self.records.opened(event.store)
        if not self.drills.are_read:
            self.call_after_refresh(self.drills.read)

    @on(StoreRefused)
    def _store_refused(self, event: StoreRefused) -> None:
        self.records.refused(event.why)

    @on(Settled)
    def _settled(self, event: Settled) -> None:
        self.records.written(event.news)

    def on_unmount(self) -> None:
        self.records.close()

    async def action_quit(self) -> None:
        """Close the app; all is kept. What still waits for the disk is asked about first."""
        waiting = self.records.unwritten
        if waiting.kept or isinstance(self.screen, Unwritten):
            left = None if waiting.kept else f"drillrunner: not written: {waiting}"
            if self.records.waited_for and waiting.kept:
                left = "drillrunner: left before the records had answered what was asked for last"
            self.exit(message=left)
            return

        def answered(choice: str | None) -> None:
            if choice == "leave":
                self.exit(message=f"drillrunner: not written: {waiting}")

        self.push_screen(Unwritten(waiting), answered)

    # ---- what is opened ----

    def open(self, door: doors.Door) -> None:
        """Open what a door leads to; a run or a match comes in the place of what was played."""
        match door:
            case doors.OpenRun():
                self.runs.go_on(door.run)
            case doors.OpenMatch():
                from drillrunner.app import match_start

                match_start.go_on(self, door.match)
            case doors.WaitForOthers() | doors.JoinOthers():
                from drillrunner.app import bays

                bays.go_to(self, door)
            case doors.Play():
                self.instead_of_play(opener.screen(door))
                self.call_after_refresh(self._tell_gap, door.playing)
            case doors.MatchPlay() | doors.RoundPlay():
                self.instead_of_play(opener.screen(door))
            case doors.Help():
                if not isinstance(self.screen, opener.kind(doors.Help)):
                    self.push_screen(opener.screen(door))
            case _:
                self.push_screen(opener.screen(door))

    def _tell_gap(self, playing: Playing | Early) -> None:
        """Which gap of the range serves a drill, once its screen stands and it is read."""
        drill = playing.drill
        if not isinstance(drill, AsListed) and (gap := gaps.nearest_words(self, drill)):
            self.say(gap)

    # ---- everywhere ----

    def open_menu(self, screen: BareScreen) -> None:
        found = [act for act in acts(screen) if act.own and act.enabled and act.action != "menu"]

        async def answered(choice: str | None) -> None:
            if choice is not None:
                await self._act(found[int(choice)])

        found.sort(key=lambda act: act.action == "quit")
        rows = [(str(at), act.name, act.tip) for at, act in enumerate(found)]
        keys = {str(at): act.keys[0] for at, act in enumerate(found)}
        self.push_screen(Choice("Menu", rows, back="close", keys=keys), answered)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        for act in acts(screen):
            if act.own and act.enabled:
                yield SystemCommand(act.name, act.tip, partial(self._act, act))
        for name in THEMES:
            yield SystemCommand(f"Look: {name}", "Colours of the app", partial(self._wear, name))

    async def _act(self, act: Act) -> None:
        await self.run_action(act.action, act.node)

    def _wear(self, theme: str) -> None:
        self.theme = theme

    def action_command_palette(self) -> None:
        """All that can be done here, by name."""
        if not isinstance(self.screen, Palette):
            self.push_screen(Palette(id="--command-palette"))

    def action_help(self) -> None:
        """What this screen shows, and every key."""
        self.open(doors.Help(self.screen))

    def action_theme(self) -> None:
        """Light, dark, or strong contrast for sunlight."""
        names = list(THEMES)
        at = names.index(self.theme) if self.theme in names else -1
        self.theme = names[(at + 1) % len(names)]
        self.say(f"look: {self.theme}")

    def _keep_theme(self, _: object) -> None:
        self.prefer(theme=self.theme)

    def action_players(self) -> None:
        """Who plays."""
        self.people.choose()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "session":
            return self.sessions.can(str(parameters[0]))
        return True

    def action_session(self, act: str) -> None:
        """Do one of the acts of the session that goes on."""
        self.sessions.do(act)
