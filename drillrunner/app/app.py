"""The app: it holds the catalogue, the store, the player and the clock, and opens the screens."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import SystemCommand
from textual.binding import Binding, BindingType
from textual.filter import LineFilter
from textual.screen import Screen

from drillrunner.app import facts, gaps, preferences
from drillrunner.app.plain import PLAIN
from drillrunner.app.screens.base import BREAKPOINTS, HEIGHTS, BaseScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.sessions import SessionApp
from drillrunner.app.themes import THEMES, StyleSheet
from drillrunner.catalogue import listing, places
from drillrunner.catalogue.errors import BadDrill, NeedsStock
from drillrunner.catalogue.listing import Listing
from drillrunner.store.errors import StoreError

if TYPE_CHECKING:
    from drillrunner.app.actions import Act
    from drillrunner.app.match_start import Against
    from drillrunner.app.screens.play import PlayScreen
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.fields import Problem
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.practice.matches.record import Setup
    from drillrunner.practice.sessions.keeper import Watch
    from drillrunner.practice.sessions.plan import Wanted
    from drillrunner.rules.units import Unit
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import MatchInfo, PlayerInfo
    from drillrunner.store.store import Store


class DrillrunnerApp(SessionApp):
    """database: path or URL. folders: where drills and games lie. player, drill, sets: open this
    drill, so set, for this player at once. clock: gives the time with an offset. demo: say that
    the records are a throw-away copy. watch, session: as of `SessionApp`. match: who plays that
    drill together, and how. against: a challenge, and the text of its file.
    """

    TITLE = "drillrunner"
    CSS_PATH = Path(__file__).with_name("drillrunner.tcss")
    HORIZONTAL_BREAKPOINTS = BREAKPOINTS
    VERTICAL_BREAKPOINTS = HEIGHTS
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "question_mark,f1",
            "help",
            "Help",
            key_display="?",
            id="app.help",
            tooltip="What this screen shows, and every key",
        ),
        Binding("f2", "players", "Players", show=False, id="app.players", tooltip="Who plays"),
        Binding(
            "f4",
            "theme",
            "Look",
            show=False,
            id="app.theme",
            tooltip="Light, dark, or strong contrast for sunlight",
        ),
        Binding(
            "ctrl+q",
            "quit",
            "Quit",
            show=False,
            priority=True,
            id="app.quit",
            tooltip="Close the app; all is kept",
        ),
    ]

    def __init__(
        self,
        *,
        database: str,
        folders: Sequence[Path],
        player: str | None = None,
        drill: str | None = None,
        sets: Sequence[str] = (),
        clock: Callable[[], datetime] | None = None,
        demo: bool = False,
        watch: Watch | None = None,
        session: Wanted | None = None,
        match: Setup | None = None,
        against: Against | None = None,
    ) -> None:
        super().__init__(database, clock, watch, session)
        self.folders = tuple(folders)
        self.wanted_player = player
        self.wanted_drill = drill
        self.sets = tuple(sets)
        self.demo = demo
        self.wanted_match = match
        self.against = against
        self._pending: Callable[[], object] | None = None
        for theme in THEMES.values():
            self.register_theme(theme)
        self.preferences, self._start_trouble = preferences.load(places.config_dir())
        wanted = self.preferences.theme
        self.theme = wanted if wanted in THEMES else next(iter(THEMES))
        self.stylesheet = StyleSheet(self.get_css_variables())
        self.facts = facts.first(database, player)
        self.open_matches: tuple[MatchInfo, ...] = ()
        self.set_reactive(DrillrunnerApp.player, facts.who(self.facts))
        self._fitted: dict[tuple[str, str], Drill] = {}
        kept = listing.kept(self.folders, self._unit)
        self._listings = {} if kept is None else {self._unit: kept}

    # ---- the drills ----

    @cached_property
    def catalogue(self) -> Catalogue:
        """The drills and games. What the first screen tells of them is known without."""
        from drillrunner.catalogue.loader import load

        return load(self.folders)

    @cached_property
    def problems(self) -> tuple[Problem, ...]:
        """Why files can't be used: of drills and games, of plans, and of ranges and the hand."""
        from drillrunner.catalogue.clubs import CLUBS
        from drillrunner.catalogue.plans import load_plans
        from drillrunner.catalogue.ranges import load_hand, load_ranges

        plans = load_plans(self.folders, self.catalogue, CLUBS)
        return (*self.catalogue.problems, *plans.problems, *load_ranges()[1], *load_hand()[1])

    @property
    def listing(self) -> Listing:
        """What the home screen tells of the drills, in the unit of the player of now."""
        unit = self._unit
        if unit not in self._listings:
            self._listings[unit] = Listing.of(self.catalogue, self.fitted, len(self.problems))
        return self._listings[unit]

    def read_drills(self) -> None:
        """Read the drills, and tell what they are now if that is not what was kept."""
        before, self._listings = self._listings, {}
        if self.listing != before.get(self._unit):
            self._show_home()
        listing.keep(self.listing, self.folders, self._unit)

    @property
    def _unit(self) -> Unit | None:
        return None if self.player is None else self.player.unit

    def fitted(self, drill: Drill) -> Drill:
        """A drill in the unit of the player of now."""
        unit = self._unit or drill.unit
        key = (drill.id, unit)
        if key not in self._fitted:
            try:
                self._fitted[key] = drill.in_unit(unit)
            except BadDrill:
                return drill
        return self._fitted[key]

    # ---- start ----

    def get_line_filters(self) -> Sequence[LineFilter]:
        return (*super().get_line_filters(), PLAIN)

    def get_default_screen(self) -> HomeScreen:
        return HomeScreen()

    def on_mount(self) -> None:
        self.theme_changed_signal.subscribe(self, self._keep_theme)
        self._pending = self._wanted_first()
        if self.wanted_player is None and facts.is_new(self.database):
            self.action_new_player()
        # The rest follows once the first screen stands: it needs none of what that imports.
        self.call_after_refresh(self.read_drills)
        self.call_after_refresh(self.open_store)

    def _wanted_first(self) -> Callable[[], object] | None:
        """What the app was started for; `None` for nothing but itself."""
        if self.against is not None:
            return partial(self.play_against, self.against)
        drill = None if self.wanted_drill is None else self._wanted(self.wanted_drill)
        if drill is None:
            return None
        if self.wanted_match is not None:
            return partial(self.start_match, drill, self.wanted_match)
        return partial(self.play, drill)

    def _wanted(self, drill: str) -> Drill | None:
        """The drill that the app was started for, as set there; `None` (and a line) if wrong."""
        try:
            return self.catalogue.drill(drill).with_set(self.sets)
        except KeyError as error:
            self._start_trouble = str(error.args[0])
        except BadDrill as error:
            self._start_trouble = str(error)
        return None

    def settle(self, store: Store) -> None:
        """Who plays: the one named (new, if need be), else who played last, else ask."""
        self.say(self._start_trouble or "")
        self._start_trouble = None
        if (named := self.wanted_player) is not None:
            self.player = store.player(named) or store.add_player(named)
            self.wanted_player = None
        if self.player is None:
            self.facts = store.home()
            self.player = facts.who(self.facts)
        if self.player is not None:
            self.now_plays(self.player)
        elif not any(getattr(screen, "asks_who", False) for screen in self.screen_stack):
            self.action_new_player()

    def _play_pending(self) -> None:
        """Play what was asked for before it was known who plays."""
        first, self._pending = self._pending, None
        session, self.wanted_session = self.wanted_session, None
        if first is not None:
            first()
        elif session is not None:
            self.plan_session(session)

    def refresh_records(self) -> None:
        """Read what the home screen tells again, and let it show that; a failure is a line."""
        if self.store is None:
            return
        try:
            self.facts = self.store.home(self.player.name if self.player else None)
            self.open_matches = self.store.open_matches()
        except StoreError as error:
            self.say(str(error))
        self._show_home()

    def _show_home(self) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, HomeScreen) and screen.is_mounted:
                screen.show()

    # ---- playing ----

    def play(self, drill: Drill) -> None:
        """Play a drill as the player of now; an open run of it is offered first."""
        player = self.player
        if player is None:
            self._pending = partial(self.play, drill)
            self.with_store(self.settle)
            return
        self.with_store(lambda store: self._offer(store, player, drill))

    def _offer(self, store: Store, player: PlayerInfo, drill: Drill) -> None:
        from drillrunner.app.screens.dialog import Choice
        from drillrunner.practice.carries.stock import in_force
        from drillrunner.practice.sessions.plan import as_played

        try:
            fitted = as_played(drill, player.unit, in_force(store.stock_carries(player.id)))
        except (BadDrill, NeedsStock) as error:
            self.say(str(error))
            return
        waiting = store.open_run(player.id, drill.id)
        if waiting is None:
            self._begin(store, player, fitted)
            return

        def answered(choice: str | None) -> None:
            if choice == "on":
                self.go_on(waiting.run)
            elif choice == "anew":
                self.with_store(lambda store: self._anew(store, player, waiting.run, fitted))

        self.push_screen(
            Choice(
                waiting.title,
                (
                    ("on", "go on", f"with the run as you left it: {waiting.counted} balls"),
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
        if self.desk is not None and self.desk.plays_for(player):
            self._play_in_session(partial(self.desk.begin, drill))
        else:
            self._show(store.begin(player.id, drill))

    def go_on(self, run: str) -> None:
        """Go on with an open run; with the match that it belongs to while that is open."""

        def resume(store: Store) -> None:
            stored = store.run(run)
            match = None if stored is None else stored.match_id
            if match is not None and store.match(match).ended_at is None:
                self.go_on_with_match(match)
            else:
                self._go_on(store.resume(run, self.catalogue.games))

        self.with_store(resume)

    def _go_on(self, playing: Playing) -> None:
        if self.desk is not None and self.desk.plays_for(playing.player):
            self._play_in_session(partial(self.desk.take_up, playing))
        else:
            self._show(playing)

    def _play_in_session(self, begin: Callable[[], Playing]) -> None:
        from drillrunner.app.screens.session_play import SessionPlayScreen
        from drillrunner.rules.run import Refused

        try:
            playing = begin()
        except Refused as refused:
            self.say(str(refused))
        else:
            self._show(playing, SessionPlayScreen)

    def _show(self, playing: Playing, screen: type[PlayScreen] | None = None) -> None:
        if screen is None:
            from drillrunner.app.screens.play import PlayScreen

            screen = PlayScreen

        with self.batch_update():
            while isinstance(self.screen, BaseScreen) and self.screen.of_play:
                self.pop_screen()
            self.push_screen(screen(playing, playing.best_before))
        if gap := gaps.nearest_words(self, playing.drill):
            self.call_after_refresh(self.say, gap)

    # ---- matches ----

    def start_match(self, drill: Drill, setup: Setup) -> None:
        """Start a match on a drill."""
        from drillrunner.app import match_start

        match_start.start(self, drill, setup)

    def go_on_with_match(self, match: str) -> None:
        """Go on with a match that was left open."""
        from drillrunner.app import match_start

        match_start.go_on(self, match)

    def play_against(self, against: Against) -> None:
        """Play against a challenge, as the player of now."""
        from drillrunner.app import match_start

        assert self.player is not None
        match_start.accept(self, against, self.player.name)

    # ---- everywhere ----

    def open_menu(self, screen: BaseScreen) -> None:
        """Everything that can be done on a screen, as a list."""
        from drillrunner.app.actions import acts
        from drillrunner.app.screens.dialog import Choice

        found = [act for act in acts(screen) if act.own and act.enabled and act.action != "menu"]

        async def answered(choice: str | None) -> None:
            if choice is not None:
                await self._act(found[int(choice)])

        found.sort(key=lambda act: act.action == "quit")
        rows = [(str(at), act.name, act.tip) for at, act in enumerate(found)]
        self.push_screen(Choice("Menu", rows, back="close"), answered)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        from drillrunner.app.actions import acts

        for act in acts(screen):
            if act.own and act.enabled:
                yield SystemCommand(act.name, act.tip, partial(self._act, act))
        for name in THEMES:
            yield SystemCommand(f"Look: {name}", "Colours of the app", partial(self._wear, name))

    async def _act(self, act: Act) -> None:
        await self.run_action(act.action, act.node)

    def _wear(self, theme: str) -> None:
        self.theme = theme

    def action_help(self) -> None:
        """What this screen shows, and every key."""
        from drillrunner.app.screens.help import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))

    def action_theme(self) -> None:
        """The next look."""
        names = list(THEMES)
        at = names.index(self.theme) if self.theme in names else -1
        self.theme = names[(at + 1) % len(names)]
        self.say(f"look: {self.theme}")

    def _keep_theme(self, _: object) -> None:
        self.prefer(theme=self.theme)

    def prefer(self, **chosen: str | None) -> None:
        """Keep a choice that outlives the app; names as of `Preferences`."""
        wanted = replace(self.preferences, **chosen)
        if wanted != self.preferences:
            self.preferences = wanted
            if trouble := preferences.save(places.config_dir(), wanted):
                self.say(trouble)

    @property
    def bell_wanted(self) -> bool:
        """Whether a bell rings when a block's time is up."""
        return self.preferences.bell is not None

    # ---- players ----

    def now_plays(self, player: PlayerInfo) -> None:
        """Make somebody the player of now, and do what waited for one."""
        self.player = player
        self.refresh_records()
        self._play_pending()

    def action_players(self) -> None:
        """Who plays: a list, with one more to add."""
        self.with_store(self._choose_player)

    def _choose_player(self, store: Store) -> None:
        from drillrunner.app.screens.dialog import Choice

        players = store.players()

        def answered(choice: str | None) -> None:
            if choice == "new":
                self.action_new_player()
            elif choice == "about":
                self.action_about_player()
            elif choice is not None:
                self.now_plays(next(player for player in players if player.id == choice))

        rows = [(player.id, player.name, "") for player in players]
        rows.append(("new", "+ add a player", ""))
        if self.player is not None:
            rows.append(("about", f"{self.player.name}: name, unit, index, clubs", ""))
        current = self.player.id if self.player in players else None
        self.push_screen(Choice("Who plays?", rows, current=current), answered)

    def action_new_player(self) -> None:
        """Add a player."""
        from drillrunner.app.screens.new_player import NewPlayerScreen

        self.push_screen(NewPlayerScreen(first=self.player is None))

    def action_about_player(self) -> None:
        """What is kept about the player of now."""
        from drillrunner.app.screens.player import PlayerScreen

        self.push_screen(PlayerScreen())
