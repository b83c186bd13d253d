"""Run against run: two runs of the same drill side by side, ball by ball."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static
from textual.widgets.option_list import Option

from drillrunner.app import words
from drillrunner.app.keys import key
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.charts import RunsChart, with_list
from drillrunner.app.widgets.lists import ListRow
from drillrunner.practice.looking_back.progress import ScoredBall, balls, parted, side_by_side
from drillrunner.rules.score import beats
from drillrunner.store.errors import StoreError

if TYPE_CHECKING:
    from drillrunner.store.shapes import StoredRun
    from drillrunner.store.store import Store

KEY = "● this run  ○ the other: score by ball"


def best_of(runs: Sequence[StoredRun]) -> int:
    """Which of these runs is the best: the earliest of equals, the newest if none is finished.

    runs: newest first, at least one.
    """
    at = 0
    for place, run in enumerate(runs):
        best = runs[at]
        if not run.finished:
            continue
        if not best.finished or not beats(run.better, best.score, run.score):
            at = place
    return at


class CompareScreen(ListScreen):
    """One run beside another of `others`, the best of them at first.

    others: of the same drill as set, newest first, at least one.
    """

    topic = "compare"
    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "next", "compare.next", "other(1)", "Other run", shown=True, tip="Beside the run before"
        ),
        key("previous", "compare.previous", "other(-1)", "Later run", tip="Beside the run after"),
        key("which", "compare.best", "best", shown=True),
    ]

    def __init__(self, one: StoredRun, others: Sequence[StoredRun]) -> None:
        super().__init__()
        self.one = one
        self.others = tuple(others)
        self.at = best_of(self.others)
        self.title = f"Beside · {one.title}"

    @property
    def other(self) -> StoredRun:
        """The run that stands on the right."""
        return self.others[self.at]

    def body(self) -> ComposeResult:
        yield from with_list(RunsChart(id="running"), KEY, "balls")

    def read(self, store: Store) -> None:
        one, trouble = self._balls(store, self.one)
        other, other_trouble = self._balls(store, self.other)
        trouble = trouble or other_trouble
        self.say(trouble)
        self.query_one("#chart").display = not trouble and max(len(one), len(other)) > 1
        self.query_one(RunsChart).show(one, other)
        self.query_one("#headline", Static).update(self._headline(one, other))
        now = self.drillrunner.clock()
        both = self.one.player_id != self.other.player_id
        lines = [
            f"{mark} {f'{run.player}, ' if both else ''}{words.when(run.started, now)}: "
            f"{words.score(run.score)}, {run.stands}"
            for mark, run in (("●", self.one), ("○", self.other))
        ]
        place = f"   ({self.at + 1} of {len(self.others)})" if len(self.others) > 1 else ""
        self.query_one("#progress", Static).update("\n".join(lines) + place)
        self.block.fill(
            [
                Option(self._row(number, *pair), id=str(number))
                for number, pair in enumerate(side_by_side(one, other), 1)
            ]
        )
        self.refresh_bindings()

    def _balls(self, store: Store, run: StoredRun) -> tuple[tuple[ScoredBall, ...], str]:
        """The balls that count, with their running scores where the game can still tell them."""
        from drillrunner.store.as_set import drill_as_stored

        entries = store.entries(run.run)
        try:
            game = drill_as_stored(run, self.drillrunner.drills.catalogue.games).game()
            return balls(entries, game), ""
        except StoreError as error:
            return balls(entries, None), str(error)
        # A stranger's game may raise anything; the balls are there all the same.
        except Exception as error:
            return balls(entries, None), f"{run.title}: its game fails: {error!r}"

    def _headline(self, one: Sequence[ScoredBall], other: Sequence[ScoredBall]) -> str:
        better, mine, theirs = self.one.better, self.one.score, self.other.score
        number = parted(one, other)
        if mine == theirs:
            said = "Level in the end"
        elif mine is None or theirs is None:
            said = "One of them has no score"
        else:
            way = "▲ Ahead" if beats(better, mine, theirs) else "▼ Behind"
            said = f"{way} by {words.score(abs(mine - theirs))}"
        if number is None:
            return said
        return f"{said}; they part at ball {number}"

    def _row(self, number: int, one: ScoredBall | None, other: ScoredBall | None) -> ListRow:
        return ListRow(f"{number:>3}  {self._said(one, self.one)}", self._said(other, self.other))

    def _said(self, ball: ScoredBall | None, run: StoredRun) -> str:
        if ball is None or ball.entry.shot is None:
            return "-"
        score = "" if ball.score is None else f" → {words.score(ball.score)}"
        return f"{ball.entry.shot.words(run.unit)}{score}"

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "other":
            return True if len(self.others) > 1 else None
        if action == "best":
            return True if self.at != best_of(self.others) else None
        return True

    def action_other(self, by: int) -> None:
        """Stand it beside another run."""
        self.at = (self.at + by) % len(self.others)
        self.drillrunner.records.read(self)

    def action_best(self) -> None:
        """Beside the best of the others."""
        self.at = best_of(self.others)
        self.drillrunner.records.read(self)
