"""Settings side by side: one drill as it was set each time, and what each says."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors, odds_words, words
from drillrunner.app.looking_back import Beside, beside, beside_words, settings_of
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.practice.looking_back.progress import SettingFacts
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.store.store import Store


class SettingsBesideScreen(HasQuestions, ListScreen):
    """The settings of the drill with this id that the player of now has played."""

    topic: ClassVar[str] = "settings_beside"

    def __init__(self, drill: str, title: str) -> None:
        super().__init__()
        self.drill = drill
        self.title = f"Settings · {title}"
        self.facts: tuple[SettingFacts, ...] = ()
        self.told: dict[str, Beside] = {}

    def body(self) -> ComposeResult:
        yield Static("", id="headline", markup=False)
        yield Static("", id="progress", markup=False)
        yield BlockList(id="settings")

    def read(self, store: Store) -> None:
        player, catalogue = self.drillrunner.player, self.drillrunner.drills.catalogue
        if player is None:
            return
        self.facts = facts = settings_of(store, player, self.drill)
        self._show()
        self.questions.ask(
            lambda: beside(store, player, catalogue, facts),
            self._found,
            lambda error: self.say(f"no odds: {error}"),
        )

    def _found(self, found: tuple[Beside, ...]) -> None:
        self.told = {one.facts.newest.fingerprint: one for one in found}
        self._show()
        self._tell()

    def _show(self) -> None:
        count = len(self.facts)
        said = (
            "Played as it is set only once: another setting would stand beside it."
            if count < 2
            else f"{count} settings, the latest on top: each is a record of its own."
        )
        self.query_one("#headline", Static).update(said)
        self.block.fill([self._row(facts) for facts in self.facts])

    def _row(self, facts: SettingFacts) -> Option:
        run = facts.newest
        told = self.told.get(run.fingerprint)
        runs = f"{numbered(facts.runs, 'run')}"
        row = ListRow(
            words.setting(words.whole_setting(run)),
            f"best {words.score(facts.best)} · {runs}",
            odds_words.WAITING if told is None else beside_words(told, brief=True),
        )
        return Option(row, id=run.fingerprint)

    @on(OptionList.OptionHighlighted)
    def _tell(self) -> None:
        told = self.told.get(self.under)
        said = odds_words.WAITING if told is None else beside_words(told)
        self.query_one("#progress", Static).update(said)

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        run = next(f.newest for f in self.facts if f.newest.fingerprint == event.option_id)
        self.drillrunner.open(doors.History(run.drill, run.title, run.fingerprint))
