"""A round, before its first hole: which course, which tees, when, which holes, how much of it."""

from __future__ import annotations

import uuid
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from drillrunner.app import doors
from drillrunner.app.dialog import Choice
from drillrunner.app.fields import DAY_AND_MONTH
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.catalogue.courses import Tee, load_courses
from drillrunner.practice.rounds.days import not_yet
from drillrunner.practice.rounds.handicap import (
    USUAL,
    nearest_whole,
    playing_handicap,
    strokes_on_course,
)
from drillrunner.rules.card import Form
from drillrunner.store.round_book import NewRound

if TYPE_CHECKING:
    from drillrunner.store.store import Store

FORMS: dict[Form, str] = {
    "full": "every shot that counts",
    "putts": "putts only",
    "score": "score only",
}
DAY_HINT = "as 1.5. for the last 1 May, or 2026-05-01"
WHICH = {"all": "all of them", "first": "the first nine", "last": "the last nine"}


class RoundSetupScreen(FormScreen):
    """course, tee, day: what was asked for already."""

    topic = "round_setup"
    TITLE = "New round"

    def __init__(
        self, course: str | None = None, tee: str | None = None, day: date | None = None
    ) -> None:
        super().__init__()
        self.courses = load_courses().courses
        known = {one.id: one for one in self.courses}
        self.course = known.get(course or "") or (self.courses[-1] if self.courses else None)
        self.tee = tee
        self.day = day
        self.which = "all"
        self.form: Form = "full"
        self.index: Decimal | None = None
        self.options = USUAL
        self._id = str(uuid.uuid4())

    def read(self, store: Store) -> None:
        from drillrunner.services.rounds import player_rounds

        self.courses = load_courses().courses
        if self.drillrunner.player is not None:
            found = player_rounds(store, self.drillrunner.player)
            self.index, self.options = found.index, found.record.options
        self.show()

    def on_mount(self) -> None:
        self.day = self.day or self.drillrunner.clock().date()

    def items(self) -> list[Item]:
        if self.course is None or self.day is None:
            return [self._new_course()]
        tee = self.course.tee(self.tee)
        rows = [
            Item(
                "begin",
                "▶ Begin",
                "Enter",
                "hole by hole on the number block; each is kept before the next is asked",
                act=self._begin,
            ),
            Item("course", "Course", self.course.title, turn=self._turn_course),
            Item(
                "tee",
                "Tees",
                tee.name,
                f"rating {tee.rating}, slope {tee.slope}, par {tee.par}",
                self._strokes(tee),
                turn=self._turn_tee,
                narrow=f"rating {tee.rating}, slope {tee.slope}, par {tee.par}",
            ),
            Item(
                "day",
                "Day",
                self.day.isoformat(),
                turn=self._turn_day,
                ask=AskItem("Day", self.day.isoformat(), self._take_day, self._bad_day, DAY_HINT),
            ),
            Item("form", "How much", FORMS[self.form], turn=self._turn_form),
        ]
        if len(self.course.holes) > 9:
            rows.append(Item("which", "Holes", WHICH[self.which], turn=self._turn_which))
        return [*rows, self._new_course()]

    def _strokes(self, tee: Tee) -> str:
        """What the player gets there: all of it, and what a competition leaves."""
        if self.index is None or self.course is None:
            return ""
        exact = strokes_on_course(
            self.index, len(self.course.holes), tee.rating, tee.slope, tee.par, self.options
        )
        played = playing_handicap(exact, self.options)
        return f"you get {nearest_whole(exact)}; {played} in a competition"

    def _new_course(self) -> Item:
        return Item(
            "new",
            "A course that is not here",
            "open",
            "from its card: par, length and stroke index of each hole",
            act=lambda: self.drillrunner.open(doors.Courses()),
        )

    def _turn_course(self, by: int) -> None:
        assert self.course is not None
        ids = [one.id for one in self.courses]
        wanted = turned(ids, self.course.id, by)
        self.course = next(one for one in self.courses if one.id == wanted)
        self.tee, self.which = None, "all"
        self.show()

    def _turn_tee(self, by: int) -> None:
        assert self.course is not None
        names = [tee.name for tee in self.course.tees]
        self.tee = turned(names, self.course.tee(self.tee).name, by)
        self.show()

    def _turn_day(self, by: int) -> None:
        assert self.day is not None
        day = date.fromordinal(self.day.toordinal() + by)
        if why := not_yet(day, self._today):
            self.hint(why)
            return
        self.day = day
        self.show()

    @property
    def _today(self) -> date:
        return self.drillrunner.clock().date()

    def _bad_day(self, text: str) -> str | None:
        try:
            return not_yet(day_of(text, self._today), self._today)
        except ValueError:
            return f"{text.strip() or 'nothing'}: expected a day, {DAY_HINT}"

    def _take_day(self, text: str) -> None:
        self.day = day_of(text, self._today)
        self.show()

    def _turn_form(self, by: int) -> None:
        self.form = turned(list(FORMS), self.form, by)
        self.show()

    def _turn_which(self, by: int) -> None:
        self.which = turned(list(WHICH), self.which, by)
        self.show()

    @property
    def _holes(self) -> list[int]:
        assert self.course is not None
        every = list(range(1, len(self.course.holes) + 1))
        return {"all": every, "first": every[:9], "last": every[9:]}[self.which]

    def _begin(self) -> None:
        self.drillrunner.records.with_store(self._ask_twice)

    def _ask_twice(self, store: Store) -> None:
        from drillrunner.services.rounds import player_rounds

        player = self.drillrunner.player
        assert self.course is not None
        assert self.day is not None
        if player is None:
            self.hint("first a player: p")
            return
        tee = self.course.tee(self.tee).name
        like = player_rounds(store, player).like(self.day, self.course.id, tee)
        if not like:
            self._start(store)
            return
        first = like[-1]

        def answered(choice: str | None) -> None:
            if choice == "open":
                self.app.pop_screen()
                self.drillrunner.open(doors.RoundCard(first.info.id))
            elif choice == "another":
                self.drillrunner.records.with_store(self._start)

        rows = (
            ("open", "that is the one", "go on with it, or correct it"),
            ("another", "another round", "both count"),
        )
        said = f"A round of {self.day} on {self.course.title}, {tee}, is here already."
        self.app.push_screen(Choice("The same round?", rows, said), answered)

    def _start(self, store: Store) -> None:
        player, course, day = self.drillrunner.player, self.course, self.day
        assert player is not None
        assert course is not None
        assert day is not None
        tee = course.tee(self.tee).name
        about = {"holes": self._holes}
        new = NewRound(day, self.form, course.id, course.as_kept, tee, about, id=self._id)
        (info,) = store.rounds.add(player.id, new)
        self.app.pop_screen()
        self.drillrunner.open(doors.RoundPlay(info.id))


def day_of(text: str, today: date) -> date:
    """The day that a text means: written out, or a day and a month, which then came last.

    Raises ValueError.
    """
    found = DAY_AND_MONTH.fullmatch(text.strip())
    if found is None:
        return date.fromisoformat(text.strip())
    day, month = int(found[1]), int(found[2])
    this = date(today.year, month, day)
    return date(today.year - 1, month, day) if not_yet(this, today) else this
