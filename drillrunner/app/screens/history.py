"""History: the runs of a drill as it was set, their chart, and whether it gets better."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors, odds_words, words
from drillrunner.app.keys import FACES, key
from drillrunner.app.looking_back import NEWEST, Verdict, headline, verdict
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.charts import EVERYONES_KEY, GOAL_KEY, KEY, ScoreChart, with_list
from drillrunner.app.widgets.lists import ROOMY, ListRow
from drillrunner.practice.looking_back.means import means_line
from drillrunner.practice.looking_back.progress import EVERYONE, Point, Shown, points
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.services.goals import GoalStanding
    from drillrunner.store.shapes import StoredRun
    from drillrunner.store.store import Store


class HistoryScreen(HasQuestions, ListScreen):
    """The runs of the drill with this id, or of every drill, by the player of now at first.

    fingerprint: the setting that is shown first, if it was played. day: only this one.
    """

    topic = "history"
    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "next",
            "history.next",
            "setting(1)",
            "Setting",
            shown=True,
            tip="The next drill as it was set otherwise",
        ),
        key(
            "previous",
            "history.previous",
            "setting(-1)",
            "Setting before",
            tip="The drill as it was set before",
        ),
        key("everyone", "history.everyone", shown=True),
        key("which", "history.filter", "filter", shown=True),
        key("beside", "history.compare", "compare", shown=True),
        key("settings", "history.settings"),
        key("then", "history.then"),
        key("pattern", "history.pattern"),
        key("calendar", "history.calendar"),
        key("goals", "history.goals"),
    ]

    def __init__(
        self,
        drill: str | None,
        title: str,
        fingerprint: str | None = None,
        *,
        player: str | None = None,
        day: date | None = None,
    ) -> None:
        super().__init__()
        self.shown = Shown(drill, title, player=player, first=day, last=day)
        self.fingerprint = fingerprint
        self.settings: tuple[StoredRun, ...] = ()
        self.runs: tuple[StoredRun, ...] = ()
        self.points: tuple[Point, ...] = ()
        self.verdict: Verdict | None = None
        self.goal: GoalStanding | None = None
        """What the player wants on the drill that is shown, as written."""

    def body(self) -> ComposeResult:
        yield from with_list(ScoreChart(id="scores"), KEY, "runs")

    # ---- reading ----

    @property
    def player_id(self) -> str | None:
        """Whose runs are shown; `None` for everyone's."""
        return self.shown.whose(self.drillrunner.player)

    def _between(self) -> tuple[datetime | None, datetime | None]:
        """From the first of the days to the end of the last, as moments here."""
        zone = self.drillrunner.clock().tzinfo
        first, last = self.shown.first, self.shown.last
        return (
            None if first is None else datetime.combine(first, time(), zone),
            None if last is None else datetime.combine(last + timedelta(days=1), time(), zone),
        )

    def read(self, store: Store) -> None:
        since, until = self._between()
        shown, player = self.shown, self.player_id
        self.settings = store.settings(
            shown.drill, player, club=shown.club, since=since, until=until
        )
        known = [run.fingerprint for run in self.settings]
        if self.fingerprint not in known:
            self.fingerprint = known[0] if known else None
        if self.fingerprint is None:
            self.runs = ()
        else:
            self.runs = store.history(
                None, player, NEWEST, fingerprint=self.fingerprint, since=since, until=until
            )
        self.points = points(self.runs)
        self.verdict = None
        self.goal = self._goal(store)
        self.title = f"History · {self._drill_name()}"
        scores = [point.run.score for point in self.points]
        self._show()
        if player is None or not scores:
            self.questions.drop()
            return
        better = self.points[0].run.better
        days = [point.run.started.date() for point in self.points]
        self.questions.ask(lambda: verdict(scores, better, days), self._judged)

    def _judged(self, found: Verdict) -> None:
        self.verdict = found
        self._tell()

    def _goal(self, store: Store) -> GoalStanding | None:
        """The goal of the player of now that these runs are on the way to."""
        from drillrunner.services.goals import goal_standings

        player, drills = self.drillrunner.player, self.drillrunner.drills
        if player is None or self.player_id != player.id or not self.runs:
            return None
        found = goal_standings(store, player, drills.catalogue)
        return next((goal for goal in found if goal.fingerprint == self.fingerprint), None)

    # ---- showing ----

    def _drill_name(self) -> str:
        if self.shown.drill is not None:
            return self.shown.title
        return self.runs[0].title if self.runs else "all drills"

    def _show(self) -> None:
        self._tell()
        bests = self._bests()
        now, everyone = self.drillrunner.clock(), self.player_id is None
        self.block.fill(
            [
                Option(
                    ListRow(
                        f"{f'{run.player} · ' if everyone else ''}{words.when(run.started, now)}",
                        f"{'▲ best ' if run.run in bests else ''}{words.score(run.score)}",
                        words.ending(run),
                        # Its score so far must not be taken for one.
                        narrow="" if run.ended else words.ending(run),
                    ),
                    id=run.run,
                )
                for run in self.runs
            ]
        )
        self.refresh_bindings()

    def _bests(self) -> frozenset[str]:
        """The runs that were their player's best when they were made."""
        found: set[str] = set()
        for player in dict.fromkeys(run.player_id for run in self.runs):
            mine = [run for run in self.runs if run.player_id == player]
            found |= {point.run.run for point in points(mine) if point.record}
        return frozenset(found)

    def _tell(self) -> None:
        everyone = self.player_id is None
        chart = self.query_one(ScoreChart)
        goal = self.goal
        chart.show(self.points, self.verdict, everyone, None if goal is None else goal.value)
        roomy = self.size.width >= ROOMY
        key = f"{KEY}  {GOAL_KEY}" if goal is not None and roomy else KEY
        self.query_one("#chart-key", Static).update(EVERYONES_KEY if everyone else key)
        self.query_one("#chart").display = len(self.points) > 1
        top = self.query_one("#headline", Static)
        top.display = not everyone and bool(self.points)
        top.update(headline(self.verdict))
        way = None if self.verdict is None else self.verdict.luck.way
        top.set_class(way == "better", "-better")
        top.set_class(way == "worse", "-worse")
        self.query_one("#progress", Static).update("\n".join(self._progress()))

    def refit(self) -> None:
        if self.runs:
            self._tell()

    def _progress(self) -> list[str]:
        filtered = self._filtered()
        if not self.runs:
            if filtered or self.shown.drill is None:
                return [*filtered, f"No runs of these. {FACES['which']} asks which runs to show."]
            return ["No runs yet. Enter on the home screen plays it."]
        run, count = self.runs[0], len(self.runs)
        parts = [words.setting(words.whole_setting(run)), words.BETTER[run.better]]
        if len(self.settings) > 1:
            at = [setting.fingerprint for setting in self.settings].index(run.fingerprint)
            what = "setting" if self.shown.drill is not None else "drill as set"
            parts.append(f"{what} {at + 1} of {len(self.settings)}")
        lines = [" · ".join(parts), *filtered]
        runs = f"{numbered(count, 'run')}"
        newest = f" (the newest {NEWEST})" if count == NEWEST else ""
        steps = [point.run.score for point in self.points if point.record]
        if self.player_id is None:
            lines.append(f"{runs} by everyone{newest}")
        elif steps:
            way = " → ".join(words.score(score) for score in steps[-8:])
            lines.append(f"best {way}   in {runs}{newest}")
        else:
            lines.append(f"{runs}, none with a score yet{newest}")
        today = self.drillrunner.clock().date()
        if self.player_id is not None and (plain := means_line(self.points, today)):
            lines.append(plain)
        if self.goal is not None:
            lines.append(self.goal.line(today if self.size.width >= ROOMY else None, named=False))
        if self.verdict is not None and self.points and self.size.width >= 80:
            lines.append(odds_words.luck_line(self.verdict.luck).split("\n")[1])
        return lines

    def _filtered(self) -> list[str]:
        """What narrows the runs, in a line; nothing if nothing does."""
        shown, parts = self.shown, []
        if shown.club is not None:
            parts.append(words.club(shown.club))
        if shown.first is not None and shown.first == shown.last:
            parts.append(f"{shown.first:%a} {shown.first}")
        else:
            parts += [f"from {shown.first}"] if shown.first else []
            parts += [f"to {shown.last}"] if shown.last else []
        if self.player_id is not None and self.player_id != self._me():
            parts.append(self.runs[0].player if self.runs else "another player")
        return [f"only: {', '.join(parts)}"] if parts else []

    def _me(self) -> str | None:
        player = self.drillrunner.player
        return None if player is None else player.id

    # ---- doing ----

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "setting":
            return True if len(self.settings) > 1 else None
        if action == "compare":
            return True if len(self.runs) > 1 else None
        if action == "pattern":
            return True if self.runs else None
        if action in ("settings", "then"):
            return True if self.settings and self._me() is not None else None
        return True

    def action_setting(self, by: int) -> None:
        """Turn to another drill as set."""
        known = [run.fingerprint for run in self.settings]
        self.fingerprint = known[(known.index(self.fingerprint or "") + by) % len(known)]
        self.drillrunner.records.read(self)

    def action_everyone(self) -> None:
        """The runs of all players, or yours alone."""
        everyone = None if self.player_id is None else EVERYONE
        self.shown = replace(self.shown, player=everyone)
        self.drillrunner.records.read(self)

    def action_pattern(self) -> None:
        """Where your shots with the club of these runs finish."""
        self.drillrunner.open(doors.pattern_of_run(self.runs[0]))

    def action_filter(self) -> None:
        """Which runs: by player, club, drill and dates."""
        self.drillrunner.open(doors.WhichRuns(self.shown, partial(setattr, self, "shown")))

    def action_compare(self) -> None:
        """The run under the cursor beside the best, ball by ball."""
        for run in self.runs:
            if run.run == self.under:
                others = [other for other in self.runs if other is not run]
                self.drillrunner.open(doors.Compare(run, others))

    def action_settings(self) -> None:
        """This drill as it was set each time, side by side."""
        run = next(run for run in self.settings if run.fingerprint == self.fingerprint)
        self.drillrunner.open(doors.SettingsBeside(run.drill, run.title))

    def action_then(self) -> None:
        """Each club's pattern: the older half of your balls beside the newer half."""
        self.drillrunner.open(doors.ThenAndNow())

    def action_goals(self) -> None:
        """The goal on this drill, and your others."""
        self.drillrunner.open(doors.Goals(self.shown.drill))

    def action_calendar(self) -> None:
        """Balls by day and week."""
        self.drillrunner.open(doors.Calendar())

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        run = next(run for run in self.runs if run.run == event.option_id)
        self.drillrunner.open(doors.Run(run))
