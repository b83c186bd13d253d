"""Notices: the files that can't be used and the rows of the records that can't be read, and why."""

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
        problems, damaged = self.drillrunner.drills.problems, self.drillrunner.records.damaged
        self.title = f"Notices · {len(problems) + len(damaged)}"
        rows = self.query_one(BlockList)
        for at, problem in enumerate(problems):
            where = Path(problem.file).name
            place = where if problem.line is None else f"{where}, line {problem.line}"
            what = ": ".join(part for part in (problem.field, problem.reason) if part)
            rows.add_option(Option(ListRow(place, "", what, below_from=0), id=str(at)))
        for at, line in enumerate(damaged, len(problems)):
            rows.add_option(Option(ListRow("your records", "", line, below_from=0), id=str(at)))
        rows.action_first()
        rows.focus()
        self.say("" if problems or damaged else "every file can be used")

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        problems, at = self.drillrunner.drills.problems, event.option_index
        if at >= len(problems):
            line = self.drillrunner.records.damaged[at - len(problems)]
            self.app.push_screen(Choice("Your records", (), line))
            return
        problem = problems[at]
        self.app.push_screen(Choice(Path(problem.file).name, (), str(problem)))
