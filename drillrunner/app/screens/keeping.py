"""What play and result share: taking entries of one run, each on disk before it is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from drillrunner.app.dialog import Choice
from drillrunner.app.keys import drawn_key, key
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.screens.run_menu import NoteChoice
from drillrunner.practice.looking_back.run_words import entry_words, last_words, resumed_words
from drillrunner.rules import keypad
from drillrunner.rules.run import Entry, Kind, Refused
from drillrunner.store.errors import BrokenGame, PlayedElsewhere, StoreError

if TYPE_CHECKING:
    from drillrunner.store.journal import Playing

BAR_WORDS = {
    "enter": "again",
    "asterisk": "undo",
    "slash": "void",
    "full_stop": "menu",
    "escape": "leave",
}
"""What the keys of the bar under a result do."""


class KeepingScreen(BaseScreen, inherit_bindings=False):
    """Base of the screens of one run. A subclass shows `playing` in `refresh_from`.

    The keys of the block differ here from those of a list (`/` voids), so no binding is inherited.
    """

    of_play = True
    BINDINGS: ClassVar[list[BindingType]] = [
        key("undo", "run.undo", shown=True),
        drawn_key("slash,divide", "void", "run.void", "Void", face="/"),
        key("note", "run.note"),
        key("lost", "run.lost"),
        key("give_up", "run.give_up"),
        key("leave", "run.leave", "back", "Leave drill", shown=True),
        key("menu", "run.menu", shown=True),
    ]

    def __init__(self, playing: Playing) -> None:
        super().__init__()
        self.playing = playing
        self.last = ""
        """The latest entry in words."""

    def refresh_from(self, playing: Playing) -> None:
        """Show the run as it stands. The one place that draws it."""
        raise NotImplementedError

    def kept(self) -> None:
        """An entry is on disk, and `playing.run` holds it."""
        self.redraw()

    def redraw(self) -> None:
        """Show the run as it stands."""
        self.refresh_from(self.playing)

    def take(self, entry: Entry) -> str:
        """Write one entry; what it says. Raises as `Playing.append`."""
        before = self.playing.run
        return last_words(before, self.playing.append(entry))

    def keep(self, entry: Entry) -> None:
        """Take one entry: written first, shown after. What fails is said, and nothing changes."""
        before = self.playing.run
        said = entry_words(entry, before.game.unit, before.between)
        try:
            last = self.take(entry)
        except Refused as refused:
            self.say(str(refused))
        except PlayedElsewhere as elsewhere:
            self.last = resumed_words(self.playing.run)
            self.redraw()
            self.say(f"{said} was NOT kept: {elsewhere}")
        except BrokenGame as broken:
            self.report_fault(broken)
        except StoreError as error:
            self._not_kept(entry, said, str(error))
        else:
            self.last = last
            self.say()
            self.kept()

    def _not_kept(self, entry: Entry, said: str, why: str) -> None:
        def answered(choice: str | None) -> None:
            if choice == "again":
                self.keep(entry)
            else:
                self.say(f"{said} was NOT kept")

        self.say(f"{said} is NOT kept")
        self.app.push_screen(
            Choice(
                f"Not kept: {said}",
                (("again", "try again", "write it once more"),),
                why,
                back="go on without it",
            ),
            answered,
        )

    def report_fault(self, broken: BrokenGame) -> None:
        """Say that the game itself failed, and where; the run is left once that is read."""
        place = broken.file if broken.line is None else f"{broken.file}, line {broken.line}"
        self.app.push_screen(
            Choice(
                "The game has a fault",
                (),
                f"{place}\n{broken.reason}\n\nThe run has ended as broken; its entries are kept.",
                back="leave the drill",
            ),
            lambda _: self.action_back(),
        )

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        run = self.playing.run
        if action == "lost":
            return not run.over and run.ask.lost_counts is not None
        return not run.over if action == "give_up" else True

    def action_undo(self) -> None:
        """Take the latest entry back."""
        self.keep(Entry(Kind.UNDO, "*"))

    def action_void(self) -> None:
        """The latest ball does not count: cracked, or someone walked past."""
        self.keep(Entry(Kind.VOID, "/"))

    def action_lost(self) -> None:
        """Lost, side not seen: it counts the most that one ball can."""
        self.keep(keypad.read("lost", self.playing.run.ask))

    def action_give_up(self) -> None:
        """End the run here: kept, but no best."""
        self.keep(Entry(Kind.GIVE_UP))

    def action_note(self) -> None:
        """Keep a note with the run."""

        def answered(text: str | None) -> None:
            if text:
                self.keep(Entry(Kind.NOTE, text))

        self.app.push_screen(NoteChoice(), answered)

    def action_back(self) -> None:
        """Nothing is lost: an open run stays open."""
        self.drillrunner.instead_of_play()
        self.drillrunner.records.refresh()
