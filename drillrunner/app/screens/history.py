"""History: the runs of a drill as it was set, newest first, and how the best moved on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import words
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, Row
from drillrunner.rules.game import Score, beats

if TYPE_CHECKING:
    from drillrunner.store.shapes import StoredRun
    from drillrunner.store.store import Store

NEWEST = 1000
"""Runs that are looked at: years of practice at one drill."""


def progression(runs: Sequence[StoredRun]) -> dict[str, Score]:
    """The runs that were the best when they were made, oldest first: run id to score.

    runs: of one setting, newest first. Only finished runs count, and a tie takes nothing.
    """
    bests: dict[str, Score] = {}
    best: Score = None
    for run in reversed(runs):
        if run.finished and beats(run.better, run.score, best):
            bests[run.run], best = run.score, run.score
    return bests


def ending(run: StoredRun) -> str:
    """How a run stands, in words."""
    balls = f"{run.counted} ball{'' if run.counted == 1 else 's'}"
    void = f", {run.voided} void" if run.voided else ""
    return f"{run.ended or 'still open'} · {balls}{void}"


class HistoryScreen(BaseScreen):
    """The runs of the drill with this id, by the player of now or by everyone.

    fingerprint: the setting that is shown first, if it was played.
    """

    topic = "history"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "6,right",
            "setting(1)",
            "Setting",
            key_display="6",
            id="history.next",
            tooltip="The same drill as it was set otherwise",
        ),
        Binding(
            "4,left",
            "setting(-1)",
            "Setting before",
            key_display="4",
            show=False,
            id="history.previous",
            tooltip="The same drill as it was set otherwise",
        ),
        Binding(
            "5,e",
            "everyone",
            "All",
            key_display="5",
            id="history.everyone",
            tooltip="The runs of all players, or yours alone",
        ),
    ]

    def __init__(self, drill: str, title: str, fingerprint: str | None = None) -> None:
        super().__init__()
        self.drill = drill
        self.title = f"History · {title}"
        self.fingerprint = fingerprint
        self.everyone = False
        self.settings: tuple[str, ...] = ()
        self.runs: tuple[StoredRun, ...] = ()

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield BlockList(id="runs")

    def on_mount(self) -> None:
        self.query_one(BlockList).focus()

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        mine = None if self.everyone or player is None else player.id
        self.runs = store.history(self.drill, mine, NEWEST)
        self.settings = tuple(dict.fromkeys(run.fingerprint for run in self.runs))
        if self.fingerprint not in self.settings and self.settings:
            self.fingerprint = self.settings[0]
        self._show()

    def _show(self) -> None:
        runs = [run for run in self.runs if run.fingerprint == self.fingerprint]
        bests: dict[str, Score] = {}
        for player in dict.fromkeys(run.player_id for run in runs):
            bests |= progression([run for run in runs if run.player_id == player])
        self.query_one("#progress", Static).update(self._progress(runs, bests))
        now = self.drillrunner.clock()
        self.query_one(BlockList).fill(
            [
                Option(
                    Row(
                        f"{f'{run.player} · ' if self.everyone else ''}"
                        f"{words.when(run.started, now)}",
                        f"{'▲ best ' if run.run in bests else ''}{words.score(run.score)}",
                        ending(run),
                    ),
                    id=run.run,
                )
                for run in runs
            ]
        )
        self.refresh_bindings()

    def _progress(self, runs: Sequence[StoredRun], bests: dict[str, Score]) -> str:
        if not runs:
            return "No runs yet. Enter on the home screen plays it."
        setting = f"{words.setting(runs[0].setting)} · {words.BETTER[runs[0].better]}"
        at = f"\nsetting {self.settings.index(runs[0].fingerprint) + 1} of {len(self.settings)}"
        lines = [setting + (at if len(self.settings) > 1 else "")]
        if self.everyone:
            lines.append(f"{len(runs)} runs by everyone")
        elif bests:
            steps = " → ".join(words.score(score) for score in list(bests.values())[-8:])
            lines.append(f"best {steps}   in {len(runs)} run{'' if len(runs) == 1 else 's'}")
        else:
            lines.append(f"{len(runs)} run{'' if len(runs) == 1 else 's'}, none with a score yet")
        if len(self.runs) == NEWEST:
            lines[-1] += f" (of the newest {NEWEST})"
        return "\n".join(lines)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "setting":
            return True if len(self.settings) > 1 else None
        return True

    def action_setting(self, by: int) -> None:
        """Turn to another setting of the same drill."""
        at = self.settings.index(self.fingerprint or "")
        self.fingerprint = self.settings[(at + by) % len(self.settings)]
        self._show()

    def action_everyone(self) -> None:
        """All players, or the player of now alone."""
        self.everyone = not self.everyone
        self.drillrunner.read(self)

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        from drillrunner.app.screens.run import RunScreen

        run = next(run for run in self.runs if run.run == event.option_id)
        self.app.push_screen(RunScreen(run))
