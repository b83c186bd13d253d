"""Holes: which club and which line from each tee of a course, with a picture of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.widgets import Static

from drillrunner.app import odds_words, words
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.app.widgets.hole_view import MARKS, SPAN, HoleView
from drillrunner.catalogue.courses import Course, load_courses

if TYPE_CHECKING:
    from drillrunner.odds.strokes.tee import Line
    from drillrunner.services.tee_lines import CourseLines
    from drillrunner.store.store import Store


class HolesScreen(HasQuestions, ScrollScreen):
    """The holes of a course for the player of now."""

    topic = "holes"
    scrolled = "#figures"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("next", "holes.turn", "turn(1)", "Hole", shown=True, tip="The next hole"),
        key("previous", "holes.turn_back", "turn(-1)", tip="The hole before"),
        key("go", "holes.club", "club", "Club", shown=True),
        key("which", "holes.course", "course", shown=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.courses: tuple[Course, ...] = ()
        self.course = 0
        self.found: CourseLines | None = None
        self.hole = 0
        self.option = 0

    def body(self) -> ComposeResult:
        with Container(id="shape"):
            with Vertical(id="above"):
                yield Static("", id="above-key", markup=False)
                yield HoleView(id="hole-view")
            with VerticalScroll(id="figures", can_focus=False):
                yield Static(odds_words.WAITING, id="figures-text", markup=False)

    def read(self, store: Store) -> None:
        from drillrunner.services.tee_lines import course_lines

        self.courses = load_courses().courses
        if not self.courses:
            self._say_figures("no course is described yet")
            return
        player, course = self.drillrunner.player, self.courses[self.course]
        self.title = f"Holes · {course.title}"
        self._say_figures(odds_words.WAITING)
        self.questions.ask(
            lambda: course_lines(store, player, course, course.tee()),
            self._worked_out,
            lambda error: self._say_figures(f"no odds: {error}"),
        )

    def _say_figures(self, said: str) -> None:
        self.query_one("#figures-text", Static).update(said)

    def _worked_out(self, found: CourseLines) -> None:
        self.found = found
        self._show()

    def _show(self) -> None:
        from drillrunner.odds.strokes.tee import across, zones

        if self.found is None:
            return
        found = self.found.holes[self.hole % len(self.found.holes)]
        option = found.lines[self.option % len(found.lines)]
        self._say_figures("\n".join(figures(self.found, self.hole, option)))
        places = range(-SPAN, SPAN + 1)
        across_it = zones(found.hole, places)
        marks = " ".join(
            f"{mark} {zone}" for zone, mark in MARKS.items() if mark.strip() and zone in across_it
        )
        self.query_one("#above-key", Static).update(
            f"{words.club(option.club)}, aimed at {aim_words(option.aim)}\n░ finish {marks}"
        )
        finish = across(found.shots[option.club], option.aim, places)
        self.query_one(HoleView).show_hole(found.hole, across_it, option.aim, finish)
        self.refresh_bindings()

    def action_turn(self, by: int) -> None:
        """Another hole."""
        if self.found is not None:
            self.hole = (self.hole + by) % len(self.found.holes)
            self.option = 0
            self._show()

    def action_club(self) -> None:
        """The next club on this hole."""
        self.option += 1
        self._show()

    def action_course(self) -> None:
        """Another course."""

        def answered(choice: str | None) -> None:
            if choice is not None:
                self.course, self.hole, self.option, self.found = int(choice), 0, 0, None
                self.drillrunner.records.read(self)

        rows = [(str(at), course.title, "") for at, course in enumerate(self.courses)]
        self.app.push_screen(Choice("Which course?", rows, current=str(self.course)), answered)


def aim_words(aim: int) -> str:
    """A line as a person says it: `6 yd left of the middle`."""
    if aim == 0:
        return "the middle"
    return f"{abs(aim)} yd {'right' if aim > 0 else 'left'} of the middle"


def figures(found: CourseLines, at: int, shown: Line) -> list[str]:
    """What a person reads of one hole, line by line, in at most 38 columns."""
    from drillrunner.odds.strokes.tee import NO_DIFFERENCE

    hole = found.holes[at % len(found.holes)]
    best = hole.best
    lines = [f"HOLE {hole.number} · PAR {hole.hole.par} · {hole.hole.length:.0f} YD"]
    for (side, what), begins in sorted(hole.hole.troubles.items()):
        lines.append(f"{side} {what} from {begins:.0f}")
    lines += ["", f"{'expected strokes':<17}{'middle':>9}{'best line':>12}"]
    for line in hole.lines:
        mark = "▸" if line == shown else " "
        way = f"{line.expected:.2f}"
        aim = "" if line.aim == 0 else f" {abs(line.aim)}{'R' if line.aim > 0 else 'L'}"
        lines.append(f"{mark}{words.club(line.club):<16}{line.middle:>9.2f}{way + aim:>12}")
    level = [o for o in hole.lines[1:] if o.expected - best.expected < NO_DIFFERENCE]
    lines.append("")
    if level:
        named = ", ".join(words.club(line.club).lower() for line in level)
        lines += ["no difference that can be told:", f"  {words.club(best.club).lower()}, {named}"]
    if not best.matters:
        lines += ["the line makes no difference here"]
    lines += ["under 0.05 is no difference", "", "What follows from what was typed of the"]
    lines += ["hole; the choice is yours.", "", *found.words()]
    return lines
