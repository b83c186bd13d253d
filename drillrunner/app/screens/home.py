"""Home: the drills by club, each with your best, your last scores and what it takes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Digits, OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors, gaps, words
from drillrunner.app.keys import FACES, key
from drillrunner.app.odds_worker import AsksOdds, offer
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow, heading
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.listing import Listed
    from drillrunner.rules.game import Score
    from drillrunner.store.shapes import MatchInfo, StoredRun
    from drillrunner.store.store import Store

DRILL, OPEN, SESSION, MATCH = "drill:", "open:", "session", "match:"


class Notice(Static):
    """How many files can't be used; a click opens the list."""

    async def on_click(self, event: events.Click) -> None:
        await self.run_action("screen.notices")


class Offer(Static):
    """Another setting for a drill that is plainly too easy or too hard; a click opens it."""

    async def on_click(self, event: events.Click) -> None:
        if self.content:
            await self.run_action("screen.tune")


class HomeScreen(AsksOdds, BaseScreen):
    """The drills, and the runs left open."""

    topic = "home"
    TITLE = "Drills"
    place = "home"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("how_hard", "home.tune", "tune"),
        key("pattern", "home.pattern"),
        key("history", "home.history", shown=True),
        key("match", "home.match", shown=True),
        key("standings", "home.standings"),
        key("calendar", "home.calendar"),
        key("faults", "home.notices", "notices"),
        key("session", "home.session", shown=True),
        key("stock", "home.stock"),
        key("width", "home.width"),
        key("gap", "home.gap"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._offers: dict[object, str] = {}

    def body(self) -> ComposeResult:
        yield Notice("", id="notice", markup=False)
        with Horizontal(id="home"):
            yield BlockList(id="drills")
            with VerticalScroll(id="detail", can_focus=False):
                yield Static("", id="detail-what", markup=False)
                yield Digits("", id="detail-best")
                yield Static("", id="detail-more", markup=False)
        yield Static("", id="about", markup=False)
        yield Offer("", id="offer", markup=False)

    def on_mount(self) -> None:
        self.query_one(BlockList).focus()
        self.show()

    def read(self, store: Store) -> None:
        self._offers.clear()
        self.drillrunner.records.refresh()

    def changed(self) -> None:
        self.show()

    def show(self) -> None:
        """Put the drills on the screen with the figures as the app knows them."""
        drills, problems = self.drillrunner.drills.listing
        notice = self.query_one("#notice", Static)
        notice.display = problems > 0
        faults = "fault" if problems == 1 else "faults"
        notice.update(f"▲ {problems} {faults} in your files: {FACES['faults']} shows")
        by_club = sorted(drills, key=lambda drill: _order(drill.club))
        player, facts = self.drillrunner.player, self.drillrunner.records.facts
        matches = self.drillrunner.records.open_matches
        together = {match.id for match in matches}
        mine = [
            run
            for run in facts.open_runs
            if player and run.player_id == player.id and run.match_id not in together
        ]
        rows = [
            *self._session_row(),
            *(self._open_row(run) for run in mine),
            *(self._match_row(match) for match in matches),
        ]
        if rows:
            rows.insert(0, heading("go on"))
        for club, of_club in groupby(by_club, key=lambda drill: drill.club):
            rows.append(heading(words.club(club)))
            rows += [self._row(drill) for drill in of_club]
        self.query_one(BlockList).fill(rows)
        self._detail()
        if not by_club:
            self.say("no drill can be used: the notices say why")

    def _row(self, drill: Listed) -> Option:
        best, last = self._scores(drill)
        said = filter(None, (words.setting(drill.setting), words.takes(drill)))
        row = ListRow(
            drill.title,
            "" if best is None else f"best {words.score(best)}",
            "  ·  ".join(said),
            f"last {words.scores(last[:3])}" if last else "",
            narrow=words.briefly(drill),
        )
        return Option(row, id=DRILL + drill.id)

    def _scores(self, drill: Drill | Listed) -> tuple[Score, tuple[Score, ...]]:
        """The best and the last scores of the player of now, newest first."""
        player, facts = self.drillrunner.player, self.drillrunner.records.facts
        if player is None:
            return None, ()
        key = (player.id, drill.fingerprint)
        best = facts.bests.get(key)
        return None if best is None else best.score, facts.last_scores.get(key, ())

    def _session_row(self) -> Iterator[Option]:
        """The session that goes on, or that was left open."""
        app = self.drillrunner
        if app.sessions.desk is not None:
            yield Option(ListRow(f"▶ {app.sessions.desk.session.plan.title}", "go on"), id=SESSION)
        elif (left := app.sessions.waiting) is not None:
            said = f"left {words.when(left.at, app.clock())}; the time since counts as a pause"
            yield Option(ListRow(f"▶ {left.title}", "go on", said), id=SESSION)

    def _match_row(self, match: MatchInfo) -> Option:
        """A match that was left open."""
        names = ", ".join(seat.player for seat in match.players)
        title = match.data.get("title", match.drill)
        when = words.when(match.started, self.drillrunner.clock())
        return Option(
            ListRow(f"▶ Match: {title}", "go on", f"{names} · {when}"), id=MATCH + match.id
        )

    def _open_row(self, run: StoredRun) -> Option:
        when = words.when(run.started, self.drillrunner.clock())
        balls = f"{numbered(run.counted, 'ball')}"
        return Option(ListRow(f"▶ {run.title}", "go on", f"{balls} · {when}"), id=OPEN + run.run)

    def _detail(self) -> None:
        """The drill under the cursor, large, where the window is wide enough."""
        self._ask_offer()
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
        self.query_one("#about", Static).update("" if drill is None else drill.about)
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
        lines = (
            words.BETTER[drill.better],
            f"last {words.scores(last)}" if last else "not played yet",
            "",
            words.setting(drill.setting),
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
        self.odds.drop()
        if line.content:
            line.update("")
        drill = None if player is None or store is None else self.highlighted
        if drill is None or player is None or store is None:
            return
        fitted = self.drillrunner.drills.fitted(drill)
        best, _ = self._scores(fitted)
        key = (player, fitted.fingerprint, best)

        def found(said: str | None) -> None:
            self._offers[key] = f"{said} · {FACES['how_hard']} opens that" if said else ""
            if said:
                line.update(self._offers[key])

        if key in self._offers:
            line.update(self._offers[key])
        else:
            self.odds.ask(lambda: offer(store, player, fitted, best), found)

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
            if chosen == OPEN + run.run:
                return run.drill
        return chosen.removeprefix(DRILL) if chosen.startswith(DRILL) else ""

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._detail()

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        chosen = event.option_id or ""
        if chosen == SESSION:
            self.drillrunner.sessions.go_on()
        elif chosen.startswith(MATCH):
            self.drillrunner.open(doors.OpenMatch(chosen.removeprefix(MATCH)))
        elif chosen.startswith(OPEN):
            self.drillrunner.runs.go_on(chosen.removeprefix(OPEN))
        elif drill := self.highlighted:
            self.drillrunner.runs.play(drill)

    def action_history(self) -> None:
        """The runs of the drill under the cursor."""
        drill = self.highlighted
        if drill is None:
            self.say("first move to a drill: 8 and 2")
            return
        fingerprint = self.drillrunner.drills.fitted(drill).fingerprint
        self.drillrunner.open(doors.History(drill.id, drill.title, fingerprint))

    def action_session(self) -> None:
        """Half an hour and one bucket, on the clock."""
        self.drillrunner.sessions.plan()

    def action_stock(self) -> None:
        """What each swing of each club carries, the gaps, and what to lay up to."""
        self.drillrunner.open(doors.Stock())

    def action_width(self) -> None:
        """How wide a target is, or how many fingers a width is."""
        drill = self.highlighted
        aim = None if drill is None else self.drillrunner.drills.fitted(drill).aim
        self.drillrunner.open(doors.Width() if aim is None else doors.Width(aim.width, aim.carry))

    def action_gap(self) -> None:
        """Play the drill through a gap of your range, at its own width."""
        drill = self.highlighted
        if drill is None:
            self.say("first move to a drill: 8 and 2")
        else:
            gaps.choose(self.drillrunner, drill)

    def action_pattern(self) -> None:
        """Where your shots with the club of the drill finish."""
        drill = self.highlighted
        if drill is None:
            self.say("first move to a drill: 8 and 2")
            return
        self.drillrunner.open(doors.Pattern(drill.club, drill.swing))

    def action_tune(self) -> None:
        """How hard the drill is for you, and what would fit."""
        drill = self.highlighted
        if drill is None or drill.dial is None:
            self.say(
                "this drill is as it is: nothing in it can be made harder or easier"
                if drill
                else "first a drill: 8, 2"
            )
            return
        self.drillrunner.open(doors.Tuning(self.drillrunner.drills.fitted(drill)))

    def action_match(self) -> None:
        """Play the drill under the cursor with friends, 2 to 8."""
        drill = self.highlighted
        if drill is None:
            self.say("first move to a drill: 8 and 2")
        else:
            self.drillrunner.open(doors.MatchSetup(drill))

    def action_standings(self) -> None:
        """Matches won, by drill and head to head, and the season."""
        self.drillrunner.open(doors.Standings())

    def action_calendar(self) -> None:
        """Balls by day and week, and what was played on a day."""
        self.drillrunner.open(doors.Calendar())

    def action_notices(self) -> None:
        """Files with faults."""
        self.drillrunner.open(doors.Notices())

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        # Home is as far back as it goes.
        return action != "back"


def _order(club: str) -> int:
    return CLUBS[club].order if club in CLUBS else len(CLUBS)
