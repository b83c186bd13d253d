"""Where the strokes go: what each kind of shot costs a round, and what practice is worth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app import odds_words
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.practice.looking_back.need_words import lines
from drillrunner.practice.sessions.claims import KIND_WORDS

if TYPE_CHECKING:
    from drillrunner.services.needs import Needs
    from drillrunner.services.worth import Worth
    from drillrunner.store.store import Store

BESIDE = 60
"""From this width on what a change is worth stands beside it."""
NOT_EFFORT = "It compares what each is worth, not how much work it takes. Kinds overlap."


class WhereLostScreen(HasQuestions, ScrollScreen):
    """Of the player of now."""

    topic: ClassVar[str] = "where_lost"
    scrolled = "#where-lost"
    TITLE = "Where the strokes go"

    def __init__(self) -> None:
        super().__init__()
        self._found: tuple[Needs, tuple[Worth, ...]] | None = None

    def body(self) -> ComposeResult:
        with VerticalScroll(id="where-lost", can_focus=False):
            yield Static(odds_words.WAITING, id="where-lost-text")

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        if player is None:
            return

        def work() -> tuple[Needs, tuple[Worth, ...]]:
            from drillrunner.services.needs import player_needs
            from drillrunner.services.worth import player_worth

            return player_needs(store, player), player_worth(store, player)

        self.questions.ask(
            work, self._worked_out, lambda error: self._put(Content(f"no odds: {error}"))
        )

    def _worked_out(self, found: tuple[Needs, tuple[Worth, ...]]) -> None:
        self._found = found
        self._show(*found)

    def refit(self) -> None:
        if self._found is not None:
            self._show(*self._found)

    def _show(self, needs: Needs, worth: tuple[Worth, ...]) -> None:
        from drillrunner.catalogue.strokes.table import FROM_MEN

        player = self.drillrunner.player
        column = player.column if player else None
        said = lines(needs.needs, needs.wanted, needs.goal, needs.known, column)
        about = [NOT_EFFORT] + (
            [f"{FROM_MEN[0].upper()}{FROM_MEN[1:]}."] if column == "women" else []
        )
        self._put(
            Content("\n").join(
                [
                    Content.styled("WHAT EACH KIND COSTS A ROUND", "bold $primary"),
                    *map(Content, said),
                    *(Content(line) for line in _need_rows(needs)),
                    Content(""),
                    Content.styled("WHAT A CHANGE IS WORTH A ROUND", "bold $primary"),
                    *(Content(line) for line in _worth_rows(worth, self.size.width)),
                    *map(Content, about),
                ]
            )
        )

    def _put(self, said: Content) -> None:
        self.query_one("#where-lost-text", Static).update(said)


def _need_rows(needs: Needs) -> Iterator[str]:
    if needs.rounds:
        yield f" lost {'a round on':<12} 8 in 10"
        for need in needs.needs:
            kind = KIND_WORDS[need.kind].removeprefix("shots from ")
            yield f"{need.lost:+z5.1f} {kind:<12} {need.low:+z.1f} to {need.high:+z.1f}"


def _worth_rows(worth: tuple[Worth, ...], width: int) -> Iterator[str]:
    from drillrunner.services.worth import WORDS

    for one in worth:
        span = "by the model" if one.low is None else f"{one.low:.2f} to {one.high:.2f}"
        if width < BESIDE:
            yield f"{one.strokes:5.2f} {WORDS[one.change]}\n      {span}"
        else:
            yield f"{one.strokes:5.2f} {WORDS[one.change]:<30} {span}"
