"""The end of a match: who has won, and what everyone's run came to."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app import match_start, words
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import key
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.app.screens.keeping import BAR_WORDS, OverScreen
from drillrunner.app.screens.match import MatchScreen
from drillrunner.app.widgets.board import CROWD, LargeName
from drillrunner.app.widgets.keypad import BAR, Keypad
from drillrunner.practice.looking_back.run_words import against_best
from drillrunner.practice.matches.match import BoardLine, Turn
from drillrunner.services.match_desk import MatchDesk

if TYPE_CHECKING:
    from drillrunner.store.journal import Playing


class MatchResultScreen(ScrollScreen, OverScreen, MatchScreen):
    """desk: a match with nothing left to play. Undo, void and note still act, and may reopen it."""

    topic = "match_result"
    scrolled = "#places"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do", "match_result.again", "again", "Play again", shown=True),
        key("not_me", "match_result.not_me"),
    ]

    def __init__(self, desk: MatchDesk) -> None:
        super().__init__(desk)
        self.title = f"Match · {desk.title}"

    def body(self) -> ComposeResult:
        yield LargeName(id="whose")
        with VerticalScroll(id="places", can_focus=False):
            yield Static("", id="ranking", markup=False)
        yield Keypad(BAR, id="bar")

    def on_mount(self) -> None:
        self.query_one("#bar", Keypad).words = BAR_WORDS
        self.redraw()

    def refresh_from(self, playing: Playing) -> None:
        decision = self.desk.match.decision
        names = [self.desk.names[player] for player in decision.winners] if decision else []
        headline = self.headline().removeprefix("★ ")
        note = headline.removeprefix(names[0]).strip() if len(names) == 1 else ""
        self.query_one("#whose", LargeName).show(names[0] if len(names) == 1 else headline, note)
        board = sorted(self.desk.board, key=lambda line: line.place or len(self.desk.board) + 1)
        between = "\n" if len(board) > CROWD else "\n\n"
        said = Content(between).join(self._said(line) for line in board)
        self.query_one("#ranking", Static).update(said)

    def _said(self, line: BoardLine) -> Content:
        """What one player's run came to, and what it means beside their own best."""
        entrant = line.entrant
        run = self.desk.match.runs[entrant.id][0]
        place = "-" if line.place is None else f"{line.place}."
        ended = run.ended or ("still open" if line.present else "left; still open")
        mark = "★" if line.won else " "
        first = f"{mark} {place:<3} {entrant.name}  {words.score(run.score)}"
        parts = []
        if entrant.balls is None:
            playing = self.desk.playing(Turn(entrant.id))
            best = playing.best_before.score if playing.best_before is not None else None
            if run.over:
                stands = against_best(run.game.better, run, best, playing.broken is not None)
                parts.append(f"★ {stands.headline}" if stands.is_best else stands.headline)
            if len({d.fingerprint for d in self.desk.drills.values()}) > 1:
                parts.append(words.setting(playing.drill.setting()))
        else:
            parts.append("from the file")
        deciders = [words.score(one.score) for one in self.desk.match.runs[entrant.id][1:]]
        more = "".join(f" · decider {score}" for score in deciders)
        about = "".join(f"\n  {part}" for part in parts)
        return Content.assemble(Content.styled(first, "bold"), f"{more} · {ended}{about}")

    def kept(self) -> None:
        if self.desk.turn is None:
            self.redraw()
            self.say(self.last)
        else:
            match_start.show(self.drillrunner, self.desk)

    @property
    def over(self) -> str:
        return "the match is over: Enter plays again, * takes the last entry back"

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        # What is typed goes to the run that was played last: that one can't be given up any more.
        if action == "not_me" and self.desk.own is not None:
            return False
        return False if action in ("give_up", "lost") else super().check_action(action, parameters)

    def action_not_me(self) -> None:
        """Give a seat to the player whose it was."""
        seats = dict(self.desk.people)
        rows = [(player, info.name, "") for player, info in seats.items()]

        def answered(seat: str | None) -> None:
            if seat is not None:
                self.drillrunner.people.not_me(
                    seat,
                    lambda store, player: store.give_seat(self.desk.info.id, seat, player.id),
                    self.left,
                    tuple(seats),
                )

        self.app.push_screen(Choice("Whose seat?", rows), answered)

    def action_again(self) -> None:
        """The same players and drill, once more."""
        if self.desk.own is not None:
            self.say("another one between bays is opened from home, and joined by its number")
            return
        match_start.again(self.drillrunner, self.desk)
