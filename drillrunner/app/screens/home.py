"""Home: the drills by club, each with your best, your last scores and what it takes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.timer import Timer
from textual.widgets import Digits, OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors, gaps, home_rows, words
from drillrunner.app.hardness import Hardness, hardness
from drillrunner.app.home_rows import (
    DRILL_ROW,
    MATCH_ROW,
    OPEN_ROW,
    PLAYER_ROW,
    ROUND_ROW,
    SESSION_ROW,
)
from drillrunner.app.keys import FACES, key
from drillrunner.app.newest import HasQuestions, Newest
from drillrunner.app.next_up import NextLine, next_line, play_next
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import ROOMY, BlockList, ListRow, heading
from drillrunner.app.widgets.topbar import TopBar
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.units import numbered, text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.listing import Listed
    from drillrunner.practice.carries.stock import Stocks
    from drillrunner.practice.looking_back.what_next import NextThing
    from drillrunner.rules.score import Score
    from drillrunner.services.goals import GoalStanding
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

CALM = 1.5
"""Seconds without a key until it is worked out how hard each drill is."""

ROOM_FOR_WORD = " " * len("hard")


class Offer(Static):
    """Another setting for a drill that is plainly too easy or too hard; a click opens it."""

    async def on_click(self, event: events.Click) -> None:
        if self.content:
            await self.run_action("screen.tune")


class HomeScreen(HasQuestions, BaseScreen):
    """The drills, and the runs left open.

    covered: it lies under the run that the app was started for, and is made when that is left.
    """

    topic = "home"
    TITLE = "Drills"
    place = "home"
    CSS_PATH = None
    BINDINGS: ClassVar[list[BindingType]] = [
        key("how_hard", "home.tune", "tune"),
        key("pattern", "home.pattern"),
        key("holes", "home.holes"),
        key("history", "home.history", shown=True),
        key("match", "home.match", shown=True),
        key("join", "home.join"),
        key("leaders", "home.leaders"),
        key("standings", "home.standings"),
        key("calendar", "home.calendar"),
        key("faults", "home.notices", "notices"),
        key("session", "home.session", shown=True),
        key("rounds", "home.rounds"),
        key("index", "home.index"),
        key("stock", "home.stock"),
        key("width", "home.width"),
        key("gap", "home.gap"),
        key("where_lost", "home.where_lost"),
        key("goals", "home.goals"),
        key("go what_next", "home.next", "what_next", "What next"),
        key("make", "home.make"),
    ]

    def __init__(self, covered: bool = False) -> None:
        super().__init__()
        self._covered = covered
        self._making = False
        self._offers: dict[object, str] = {}
        self._retired: frozenset[str] = frozenset()
        self._left: frozenset[str | None] = frozenset()
        """What could be gone on with when the rows were shown last."""
        self._stocks: Stocks = {}
        self._players: tuple[PlayerInfo, ...] = ()
        self._hard: dict[object, Hardness | None] = {}
        self._told_at = 0
        """Columns that there were when it told of the drill under the cursor; 0 before."""
        self._fresh: set[object] = set()
        self._weighing = Newest(self)
        self._looking = Newest(self)
        self._next: NextThing | None = None
        self._looked: object = None
        """Whose next thing is known, since what was read last."""
        self._calm: Timer | None = None
        self._come_to = True
        """Whether it is come to anew: nobody has looked at its rows yet."""

    def compose(self) -> ComposeResult:
        return iter(()) if self._covered and not self._making else super().compose()

    def body(self) -> ComposeResult:
        yield NextLine(id="next", keeps_room=True)
        with Horizontal(id="home"):
            yield BlockList(id="drills")
            with VerticalScroll(id="detail", can_focus=False):
                yield Static("", id="detail-what", markup=False)
                yield Digits("", id="detail-best")
                yield Static("", id="detail-more", markup=False)
        yield Static("", id="about", markup=False)
        yield Offer("", id="offer", markup=False)

    def on_mount(self) -> None:
        if not self._covered:
            facts = self.drillrunner.records.facts
            self._retired = facts.retired
            self.query_one(NextLine).set_class(facts.has_goal, "-goal")
            # It is filled when it is come to, which is next, but under what was opened at once.
            self.query_one(BlockList).focus()

    async def on_screen_resume(self) -> None:  # type: ignore[override]
        self._come_to = True
        if self._covered and self.is_current:
            self._making = True
            await self.recompose()
            # Not before: what is told meanwhile finds no place yet.
            self._covered = False
            self.query_one(BlockList).focus()
        if self.drillrunner.records.store is None and self.is_current and self.is_mounted:
            self.show()

    def on_screen_suspend(self) -> None:
        # Who leaves what covers it may let it show that before it is resumed.
        self._come_to = True

    def say(self, text: str = "") -> None:
        if self._covered:
            self.drillrunner.unsaid = text
        else:
            super().say(text)

    def read(self, store: Store) -> None:
        self._offers.clear()
        # What was played changes how hard the drills of that club are; the others keep their
        # figures, and until that is known the old one stands.
        self._fresh.clear()
        self._looked = None
        from drillrunner.practice.carries.stock import in_force

        player = self.drillrunner.player
        if self._come_to:
            # Else it is looked at, and these would move its rows.
            goals = () if player is None else store.intents.goals(player.id)
            self.query_one(NextLine).set_class(bool(goals), "-goal")
            clubs = () if player is None else store.clubs(player.id)
            self._retired = frozenset(club.id for club in clubs if club.retired)
        self._stocks = in_force(() if player is None else store.stock_carries(player.id))
        self._players = store.players()
        self.drillrunner.records.refresh()
        if self.is_current and not self.drillrunner.gate.held:
            self.drillrunner.people.ask_the_new()

    def changed(self) -> None:
        # What covers it has the machine to itself; it reads anew when it is come back to.
        if self.is_current and not self._covered:
            self.show()

    def show(self) -> None:
        """Put the drills on the screen with the figures as the app knows them."""
        drills, problems = self.drillrunner.drills.listing
        self._tell_faults({"files": problems, "records": len(self.drillrunner.records.damaged)})
        retired = self._retired
        # What is simple stands before what asks for several clubs or lengths.
        by_club = sorted(
            drills, key=lambda d: (d.club in retired, _order(d.club), "stations" in d.setting)
        )
        rows = home_rows.left_open(self.drillrunner)
        left = frozenset(row.id for row in rows)
        for club, of_club in groupby(by_club, key=lambda drill: drill.club):
            rows.append(heading(words.club(club) + " · retired" * (club in retired)))
            rows += [self._row(drill) for drill in of_club]
        rows += home_rows.others(self.drillrunner, self._players)
        self.query_one(BlockList).fill(rows, from_top=self._come_to)
        if left - self._left and not self._come_to:
            self.say(f"left open: {FACES['first']} goes there")
        self._come_to, self._left = False, left
        self._detail()
        self._when_calm()
        if not by_club:
            self.say("no drill can be used: the notices say why")

    def _tell_faults(self, counts: Mapping[str, int]) -> None:
        """Say in the top line how much can't be used; no row may move for it."""
        where = [f"in your {what}" for what, count in counts.items() if count]
        faults = f"▲ {numbered(sum(counts.values()), 'fault')}: {FACES['faults']} shows"
        self.title = " · ".join([faults, *where, self.TITLE] if where else [self.TITLE])
        self.title_does = "screen.notices" if where else "screen.back"
        self.query_one(TopBar).set_class(bool(where), "-faults")

    def _row(self, drill: Listed) -> Option:
        best, last = self._scores(drill)
        goes = self._goes(drill)
        said = filter(
            None,
            (words.setting(drill.setting), goes and f"yours goes {goes[0]}", words.takes(drill)),
        )
        hard = self._hard.get(self._key(drill))
        record = None if best is None else f"best {words.score(best)}"

        def figures(how: str | None) -> str:
            # Room for the word, which is known later: no row may grow under a finger.
            return "  ".join(filter(None, (ROOM_FOR_WORD if how is None else how, record)))

        row = ListRow(
            drill.title,
            figures(hard and hard.brief),
            "  ·  ".join(said),
            f"last {words.scores(last[:3])}" if last else "",
            narrow=words.briefly(drill),
            right_narrow=figures(hard and hard.word),
        )
        return Option(row, id=DRILL_ROW + drill.id)

    def _goes(self, drill: Listed) -> tuple[str, str] | None:
        """The stock carry of the drill's club and swing beside what it asks, if they differ."""
        # Which stock carries there are is read after the first paint, like the drills themselves.
        if not self._stocks:
            return None
        written = next(
            (d for d in self.drillrunner.drills.catalogue.drills if d.id == drill.id), None
        )
        if written is None:
            return None
        from drillrunner.practice.carries.stock import in_unit

        fitted = self._fitted(written)
        stock, asked = self._stocks.get((fitted.club, fitted.swing)), fitted.aim.carry
        if stock is None or asked is None:
            return None
        goes = in_unit(stock, fitted.unit).carry
        return None if goes == asked else (text(goes), text(asked))

    def _goes_words(self, drill: Listed) -> str:
        """That in a sentence."""
        found = self._goes(drill)
        if found is None:
            return ""
        return f"your {words.club(drill.club).lower()} goes {found[0]}, this asks {found[1]}"

    # ---- how hard each drill is ----

    def _key(self, drill: Drill | Listed) -> object:
        """What an answer of how hard a drill is holds for."""
        return self.drillrunner.player, drill.fingerprint, self._scores(drill)[0]

    def _when_calm(self) -> None:
        """Weigh the drills once no key was pressed for a while: nothing may wait for it."""
        if self._calm is not None:
            self._calm.stop()
        self._calm = self.set_timer(CALM, self._weigh)

    def _weigh(self) -> None:
        """Ask for the next drill that was not weighed yet, one at a time."""
        player, store = self.drillrunner.player, self.drillrunner.records.store
        if player is None or store is None or self.app.screen is not self:
            return
        if not self.drillrunner.in_sight:
            # It costs seconds, and a phone that was put away may not come back.
            self._when_calm()
            return
        if self._looked != player:
            self._looked = player
            catalogue, now = self.drillrunner.drills.catalogue, self.drillrunner.clock()

            def look() -> tuple[NextThing | None, GoalStanding | None]:
                from drillrunner.services.what_next import first_and_goal

                return first_and_goal(store, player, catalogue, now)

            self._looking.ask(look, self._tell_next)
        for written in self.drillrunner.drills.catalogue.drills:
            drill = self._fitted(written)
            key = self._key(drill)
            if key not in self._fresh:
                before = self._hard.get(key)
                self._weighing.ask(
                    partial(hardness, store, player, drill, self._scores(drill)[0], before),
                    partial(self._weighed, key, drill.id),
                    # A stranger's game that raises has no figure; the others still get theirs.
                    partial(self._unweighed, key, drill.id),
                )
                return

    def _tell_next(self, found: tuple[NextThing | None, GoalStanding | None]) -> None:
        self._next, goal = found
        roomy = self.size.width >= ROOMY
        today = self.drillrunner.clock().date() if roomy else None
        line = self.query_one(NextLine)
        told = "" if goal is None or not line.has_class("-goal") else goal.line(today)
        lines = told, next_line(self._next, "go", roomy)
        line.show("\n".join(filter(None, lines)))

    def action_what_next(self) -> None:
        """Play what your rounds, patterns and scores say is next."""
        self.say(play_next(self.drillrunner, self._next))

    def _weighed(self, key: object, id: str, found: Hardness | None) -> None:
        self._fresh.add(key)
        self._hard[key] = found
        listed = next((d for d in self.drillrunner.drills.listing.drills if d.id == id), None)
        if listed is not None and found is not None:
            rows = self.query_one(BlockList)
            rows.replace_option_prompt(DRILL_ROW + id, self._row(listed).prompt)
            if self._chosen == id:
                self._tell()
        self._weigh()

    def _unweighed(self, key: object, id: str, _: Exception) -> None:
        self._weighed(key, id, None)

    def _scores(self, drill: Drill | Listed) -> tuple[Score, tuple[Score, ...]]:
        """The best and the last scores of the player of now, newest first."""
        player, facts = self.drillrunner.player, self.drillrunner.records.facts
        if player is None:
            return None, ()
        key = (player.id, drill.fingerprint)
        best = facts.bests.get(key)
        return None if best is None else best.score, facts.last_scores.get(key, ())

    def _detail(self) -> None:
        """The drill under the cursor, large, where the window is wide enough."""
        self._ask_offer()
        self._tell()

    def refit(self) -> None:
        # A start does nothing twice.
        if self._told_at not in (0, self.size.width):
            self._tell()

    def _tell(self) -> None:
        chosen = self._chosen
        drill = next(
            (drill for drill in self.drillrunner.drills.listing.drills if drill.id == chosen), None
        )
        what, best, more = (
            self.query_one("#detail-what", Static),
            self.query_one("#detail-best", Digits),
            self.query_one("#detail-more", Static),
        )
        best.display = drill is not None
        self._told_at = self.size.width
        about = "" if drill is None else words.whole_sentences(drill.about, self._told_at - 2)
        self.query_one("#about", Static).update(about)
        if drill is None:
            what.update("")
            more.update("")
            return
        score, last = self._scores(drill)
        what.update(
            Content.assemble(
                Content.styled(drill.title, "bold"), "\n\n", drill.about, "\n\nyour best"
            )
        )
        best.update(words.score(score))
        hard = self._hard.get(self._key(drill))
        lines = (
            words.BETTER[drill.better],
            "" if hard is None else hard.said,
            f"last {words.scores(last)}" if last else "not played yet",
            "",
            words.setting(drill.setting),
            self._goes_words(drill),
            words.takes(drill),
            self._gap_words(),
        )
        more.update("\n".join(lines))

    def _gap_words(self) -> str:
        """A gap of the range that serves; ranges and drills are read after the first paint."""
        drill = None if self.drillrunner.records.store is None else self.highlighted
        return "" if drill is None else gaps.nearest_words(self.drillrunner, drill)

    def _ask_offer(self) -> None:
        """Ask the odds whether the drill is plainly too easy or too hard for the player of now."""
        player, store, line = (
            self.drillrunner.player,
            self.drillrunner.records.store,
            self.query_one(Offer),
        )
        self.questions.drop()
        if line.content:
            line.update("")
        drill = None if player is None or store is None else self.highlighted
        if drill is None or player is None or store is None:
            return
        fitted = self._fitted(drill)
        best, _ = self._scores(fitted)
        key = (player, fitted.fingerprint, best)

        from drillrunner.app.odds_worker import offer

        def found(said: str | None) -> None:
            self._offers[key] = f"{said} · {FACES['how_hard']} opens that" if said else ""
            if said:
                line.update(self._offers[key])

        if key in self._offers:
            line.update(self._offers[key])
        else:
            self.questions.ask(lambda: offer(store, player, fitted, best), found)

    @property
    def highlighted(self) -> Drill | None:
        """The drill under the cursor, or that of the open run there; `None` if it is gone."""
        chosen = self._chosen
        return next((d for d in self.drillrunner.drills.catalogue.drills if d.id == chosen), None)

    @property
    def _chosen(self) -> str:
        """The id of the drill under the cursor, or of the open run's there; empty for none."""
        option = self.query_one(BlockList).highlighted_option
        chosen = (option.id or "") if option is not None else ""
        for run in self.drillrunner.records.facts.open_runs:
            if chosen == OPEN_ROW + run.run:
                return run.drill
        return chosen.removeprefix(DRILL_ROW) if chosen.startswith(DRILL_ROW) else ""

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._when_calm()
        self._detail()

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        chosen = event.option_id or ""
        if chosen == SESSION_ROW:
            self.drillrunner.sessions.go_on()
        elif chosen.startswith(MATCH_ROW):
            self._open(doors.OpenMatch(chosen.removeprefix(MATCH_ROW)))
        elif chosen.startswith(PLAYER_ROW):
            named = [one for one in self._players if PLAYER_ROW + one.id == chosen]
            self.drillrunner.people.now_plays(named[0])
            self.say(f"{named[0].name} plays now")
        elif chosen.startswith(ROUND_ROW):
            self._open(doors.RoundPlay(chosen.removeprefix(ROUND_ROW)))
        elif chosen.startswith(OPEN_ROW):
            self.drillrunner.runs.go_on(chosen.removeprefix(OPEN_ROW))
        elif drill := self.highlighted:
            self.drillrunner.runs.play(drill)

    def _with_drill(self, then: Callable[[Drill], object]) -> None:
        """Do something with the drill under the cursor."""
        if (drill := self.highlighted) is None:
            self.hint("first move to a drill: 8 and 2")
        else:
            then(drill)

    def _fitted(self, drill: Drill) -> Drill:
        return self.drillrunner.drills.fitted(drill)

    def _open(self, door: doors.Door) -> None:
        self.drillrunner.open(door)

    def action_history(self) -> None:
        """The runs of the drill under the cursor."""
        self._with_drill(
            lambda drill: self._open(
                doors.History(drill.id, drill.title, self._fitted(drill).fingerprint)
            )
        )

    def action_session(self) -> None:
        """Half an hour and one bucket, on the clock."""
        self.drillrunner.sessions.plan()

    def action_rounds(self) -> None:
        """Your rounds on the course, and the way to a new one."""
        self._open(doors.Rounds())

    def action_index(self) -> None:
        """Your handicap index, and what brings it to your goal."""
        self._open(doors.Index())

    def action_where_lost(self) -> None:
        """What each kind of shot costs a round, and what practice is worth."""
        self._open(doors.WhereLost())

    def action_goals(self) -> None:
        """What you want by a day, and the one thing that you work on."""
        drill = self.highlighted
        self._open(doors.Goals(None if drill is None else drill.id))

    def action_stock(self) -> None:
        """What each swing of each club carries, the gaps, and what to lay up to."""
        self._open(doors.Stock())

    def action_width(self) -> None:
        """How wide a target is, or how many fingers a width is."""
        drill = self.highlighted
        aim = None if drill is None else self._fitted(drill).aim
        self._open(doors.Width() if aim is None else doors.Width(aim.width, aim.carry))

    def action_gap(self) -> None:
        """Play the drill through a gap of your range, at its own width."""
        self._with_drill(lambda drill: gaps.choose(self.drillrunner, drill))

    def action_make(self) -> None:
        """Make a drill of your own from the one under the cursor, or change your own."""
        self._with_drill(lambda drill: self._open(doors.MakeDrill(self._fitted(drill))))

    def action_pattern(self) -> None:
        """Where your shots with the club of the drill finish."""
        self._with_drill(lambda drill: self._open(doors.pattern_of(drill)))

    def action_holes(self) -> None:
        """Which club and which line from the tees of a course."""
        self._open(doors.Holes())

    def action_tune(self) -> None:
        """How hard the drill is for you, and what would fit."""
        self._with_drill(self._tune)

    def _tune(self, drill: Drill) -> None:
        if drill.dial is None:
            self.hint("this drill is as it is: nothing in it can be made harder or easier")
        else:
            self._open(doors.Tuning(self._fitted(drill)))

    def action_match(self) -> None:
        """Play the drill under the cursor with friends, 2 to 8."""
        self._with_drill(lambda drill: self._open(doors.MatchSetup(drill)))

    def action_join(self) -> None:
        """Join a match that waits in another bay, by the number on its screen."""
        from drillrunner.app import bays

        bays.join(self.drillrunner)

    def action_leaders(self) -> None:
        """The best scores on the drill under the cursor, of all who agreed to stand there."""
        self._with_drill(lambda drill: self._open(doors.Leaders(self._fitted(drill))))

    def action_standings(self) -> None:
        """Matches won, by drill and head to head, and the season."""
        self._open(doors.Standings())

    def action_calendar(self) -> None:
        """Balls by day and week, and what was played on a day."""
        self._open(doors.Calendar())

    def action_notices(self) -> None:
        """Files with faults."""
        self._open(doors.Notices())

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        # Home is as far back as it goes.
        return action != "back"


def _order(club: str) -> int:
    return CLUBS[club].order if club in CLUBS else len(CLUBS)
