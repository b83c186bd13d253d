"""The app as a screen knows it: its parts, each an object that can be asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillrunner.app.bare import Bare, BareScreen
from drillrunner.app.drills import Drills
from drillrunner.app.people import People
from drillrunner.app.records import Records
from drillrunner.app.runs import Runs
from drillrunner.app.sessions import Sessions

if TYPE_CHECKING:
    from drillrunner.catalogue.width import Estimate


class Host(Bare):
    """The parts. What is opened, a screen names by its door: `open(doors.History(...))`."""

    records: Records
    drills: Drills
    people: People
    sessions: Sessions
    runs: Runs
    worked_out: Estimate | None = None
    """The width that was worked out last, in the unit of the player of then."""

    def is_waiting(self) -> bool:
        waits = self.records.waiting or self.runs.unread
        return waits and not self.is_question(self.screen)

    def is_writing(self) -> bool:
        return self.records.writing

    def open_menu(self, screen: BareScreen) -> None:
        """Everything that can be done on a screen, as a list."""
        raise NotImplementedError
