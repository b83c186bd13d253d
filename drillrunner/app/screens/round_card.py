"""A round that was typed: hole by hole what is known and what was worked out; corrected here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app import doors, round_words
from drillrunner.app.keys import key
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.practice.rounds.handicap import PCC
from drillrunner.practice.rounds.score_file import differential_typed
from drillrunner.practice.rounds.words import comes_to
from drillrunner.rules.scorecard import CardFact
from drillrunner.rules.units import plain, text

if TYPE_CHECKING:
    from drillrunner.practice.rounds.played import PlayedRound
    from drillrunner.store.store import Store


class RoundCardScreen(FormScreen):
    """round: its id."""

    topic = "round_card"
    TITLE = "Round"
    BINDINGS: ClassVar[list[BindingType]] = [key("not_me", "card.not_me", "not_me")]

    def __init__(self, round: str) -> None:
        super().__init__()
        self.round = round
        self.one: PlayedRound | None = None
        self.others = 0
        """How many other rounds were played on that day."""
        self._nth = 0
        self._clubs: dict[str, str] = {}

    def above(self) -> ComposeResult:
        yield Static("", id="headline", markup=False)

    def read(self, store: Store) -> None:
        from drillrunner.services.rounds import player_rounds

        player = store.player_of(store.rounds.round(self.round).player_id)
        rounds = player_rounds(store, player).rounds
        self._clubs = {club.id: club.label for club in store.clubs(player.id)}
        one = next(one for one in rounds if one.info.id == self.round)
        same = [other.info.id for other in rounds if other.info.day == one.info.day]
        self.one, self.others, self._nth = one, len(same) - 1, same.index(self.round)
        where = "Score alone" if one.course is None else f"{one.course.title}, {one.info.tee}"
        self.title = f"{where}, {one.info.day}"
        self.query_one("#headline", Static).update(comes_to(one))
        self.show()

    def items(self) -> list[Item]:
        one = self.one
        if one is None:
            return []
        rows = []
        if not one.card.finished:
            rows.append(Item("on", "▶ Go on", f"{one.told} of {one.count}", act=self._go_on))
        if one.course is not None and one.tee is not None:
            rows += [self._hole(one, number) for number in one.numbers]
        rows.append(Item("", "About this round"))
        shown = one.card.shown
        rows += [
            Item(
                "pcc",
                "Playing conditions",
                f"{one.card.pcc:+d}" if one.card.pcc else "0",
                "the correction of that day, as the club tells it",
                turn=self._turn_conditions,
            ),
            Item(
                "shown",
                "Differential of the club",
                "not said" if shown is None else text(shown),
                "if the club shows another one: it is kept as typed",
                ask=AskItem(
                    "Differential, as the club shows it",
                    "" if shown is None else text(shown),
                    self._take_shown,
                    bad_differential,
                ),
            ),
        ]
        if self.others:
            rows.append(
                Item(
                    "order",
                    "Which of that day",
                    f"{self._nth + 1} of {self.others + 1}",
                    turn=self._turn_order,
                )
            )
        rows.append(
            Item(
                "out",
                "In the record",
                "taken out" if one.card.out else "yes",
                "a round that was taken out is kept and marked; it counts nowhere",
                turn=lambda _: self._tell("put back" if one.card.out else "taken out"),
            )
        )
        return rows

    def _hole(self, one: PlayedRound, number: int) -> Item:
        assert one.course is not None
        assert one.tee is not None
        unit, hole = one.course.unit, one.course.holes[number - 1]
        length = round_words.length_of(one.course, number, one.tee)
        player = self.drillrunner.player
        told = one.card.holes.get(number)
        score, about, more = "", "not told", ""
        if told is not None:
            score = "" if told.score is None else str(told.score)
            metres = player is not None and player.unit == "m"
            about = round_words.told_words(told, unit, metres, self._clubs) or "the score alone"
            more = round_words.worked_out_words(told, hole.par)
        return Item(
            f"hole-{number}",
            f"{number:>2}  par {hole.par}  {length} {unit}",
            score,
            about,
            more,
            act=lambda: self.drillrunner.open(doors.RoundPlay(self.round, number)),
            narrow=", ".join(part for part in (about, more) if part),
        )

    def _go_on(self) -> None:
        self.drillrunner.open(doors.RoundPlay(self.round))

    def _turn_conditions(self, by: int) -> None:
        assert self.one is not None
        values = list(range(PCC[0], PCC[1] + 1))
        self._tell("pcc", pcc=turned(values, self.one.card.pcc, by))

    def _take_shown(self, typed: str) -> None:
        value = differential_typed(typed)
        self._tell("shown", differential=None if value is None else plain(value))

    def _turn_order(self, by: int) -> None:
        # Rounds that were given no place count as 1: an earlier one is under, a later one over it.
        assert self.one is not None
        now = self.one.card.order if self.one.card.order is not None else 1
        self._tell("order", order=now + by)

    def _tell(self, kind: CardFact, **data: Any) -> None:
        def tell(store: Store) -> None:
            store.rounds.tell(self.round, store.rounds.round(self.round).seq + 1, kind, data)
            self.read(store)
            self.say("kept")

        self.drillrunner.records.with_store(tell)

    def action_not_me(self) -> None:
        """Give the round to the player whose it was."""
        one = self.one
        if one is None:
            return

        self.drillrunner.people.not_me(
            one.info.player_id,
            lambda store, player: store.give_round(self.round, player.id),
            lambda: self.drillrunner.records.with_store(self.read),
        )


def bad_differential(text: str) -> str | None:
    """Why a text is no differential; an empty one is none, which is fine."""
    try:
        differential_typed(text)
    except ValueError as error:
        return f"{error}; or nothing"
    return None
