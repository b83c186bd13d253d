"""Notices: the files of drills, games, plans and ranges that can't be used, and why."""

from __future__ import annotations

from pathlib import Path

from textual import on
from textual.app import ComposeResult
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from drillrunner.app.dialog import Choice
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow


class NoticesScreen(BaseScreen):
    """One row a problem; Enter shows the whole of it."""

    topic = "notices"

    def body(self) -> ComposeResult:
        yield BlockList(id="notices")

    def on_mount(self) -> None:
        problems = self.drillrunner.drills.problems
        self.title = f"Notices · {len(problems)}"
        rows = self.query_one(BlockList)
        for at, problem in enumerate(problems):
            where = Path(problem.file).name
            place = where if problem.line is None else f"{where}, line {problem.line}"
            what = ": ".join(part for part in (problem.field, problem.reason) if part)
            rows.add_option(Option(ListRow(place, "", what, below_from=0), id=str(at)))
        rows.action_first()
        rows.focus()
        self.say("" if problems else "every file can be used")

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        problem = self.drillrunner.drills.problems[event.option_index]
        self.app.push_screen(Choice(Path(problem.file).name, (), str(problem)))
