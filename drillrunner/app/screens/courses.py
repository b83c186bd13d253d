"""The courses that a round can be typed on, and the way to a new one."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors
from drillrunner.app.keys import key
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.catalogue.courses import Courses, load_courses
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.store.store import Store

NEW = "new"


class CoursesScreen(ListScreen):
    """Courses of the bundle and of the own folder; those of the own folder can be changed."""

    topic = "courses"
    TITLE = "Courses"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go", "courses.new", "new", "New course", shown=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.found: Courses = load_courses()

    def body(self) -> ComposeResult:
        yield Static("", id="headline", markup=False)
        yield BlockList(id="courses")

    def on_mount(self) -> None:
        self.block.focus()
        self._show()

    def read(self, store: Store) -> None:
        self.found = load_courses()
        self._show()

    def _show(self) -> None:
        wrong = self.found.problems
        self.query_one("#headline", Static).update(str(wrong[0]) if wrong else "")
        rows = [Option(ListRow("▶ New course", "5", "as its card has it"), id=NEW)]
        for course in self.found.courses:
            tees = ", ".join(f"{tee.name} {tee.rating}/{tee.slope}" for tee in course.tees)
            holes = numbered(len(course.holes), "hole")
            rows.append(
                Option(ListRow(course.title, f"{holes}, par {course.par}", tees), course.id)
            )
        self.block.fill(rows)

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        if event.option_id == NEW:
            self.action_new()
        else:
            self.drillrunner.open(doors.CourseForm(self.found.course(event.option_id or "")))

    def action_new(self) -> None:
        """Type a course from its card."""
        self.drillrunner.open(doors.CourseForm())
