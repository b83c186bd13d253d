"""Rounds: those played, newest first, and the way to a new one."""

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
from drillrunner.practice.rounds.words import NOT_THE_CLUBS, in_the_record
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.practice.rounds.played import PlayedRound, PlayerRounds
    from drillrunner.store.store import Store

NEW, COURSES, INDEX = "new", "courses", "index"
FORM_WORDS = {"full": "whole card", "putts": "putts", "score": "score alone"}


class RoundsScreen(ListScreen):
    """The rounds of the player of now."""

    topic = "rounds"
    TITLE = "Rounds"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go", "rounds.new", "new", "New round", shown=True),
        key("index", "rounds.index", shown=True),
    ]

    def body(self) -> ComposeResult:
        yield Static("", id="headline", markup=False)
        yield BlockList(id="rounds")

    def read(self, store: Store) -> None:
        from drillrunner.services.rounds import player_rounds

        player = self.drillrunner.player
        found = None if player is None else player_rounds(store, player)
        self.query_one("#headline", Static).update(_headline(found))
        rows = [
            Option(ListRow("▶ New round", "5", "on a course you have"), id=NEW),
            Option(ListRow("Index", "i", "which rounds count, and what the goal needs"), id=INDEX),
            Option(ListRow("Courses", "", "those you have, and a new one"), id=COURSES),
        ]
        rows += [_row(one) for one in reversed(found.rounds if found else ())]
        self.block.fill(rows)

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        chosen = event.option_id or ""
        if chosen == NEW:
            self.action_new()
        elif chosen == COURSES:
            self.drillrunner.open(doors.Courses())
        elif chosen == INDEX:
            self.action_index()
        else:
            self.drillrunner.open(doors.RoundCard(chosen))

    def action_new(self) -> None:
        """Type a round that you have played."""
        self.drillrunner.open(doors.RoundSetup())

    def action_index(self) -> None:
        """Your handicap index, and what brings it to your goal."""
        self.drillrunner.open(doors.Index())


def _headline(found: PlayerRounds | None) -> str:
    if found is None or not found.rounds:
        return "No rounds yet. A round is typed after it is played, hole by hole."
    count = numbered(sum(not one.card.out for one in found.rounds), "round")
    if found.record.index is None:
        return f"{count}; {found.record.options.fewest} that count make an index. {NOT_THE_CLUBS}"
    return f"{count}; index {found.record.index}. {NOT_THE_CLUBS}"


def _row(one: PlayedRound) -> Option:
    where = "score alone" if one.course is None else f"{one.course.title}, {one.info.tee}"
    score = "" if one.gross is None else str(one.gross)
    if not one.card.finished:
        said = f"{one.told} of {one.count} holes; Enter goes on"
        return Option(ListRow(f"▶ {one.info.day}  {where}", "go on", said), id=one.info.id)
    said = f"{in_the_record(one)} · {FORM_WORDS[one.form]}"
    mark = "" if not one.card.out else "taken out"
    return Option(
        ListRow(f"{one.info.day}  {where}", mark or score, said, narrow=in_the_record(one)),
        id=one.info.id,
    )
