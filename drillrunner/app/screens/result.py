"""Result: what a run came to, beside the best, and what it says of the player's shots."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app import doors, odds_words, words
from drillrunner.app.keys import FACES, key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.next_up import NextLine, next_line, play_next
from drillrunner.app.odds_worker import NextTime, next_time, offer
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.app.screens.keeping import BAR_WORDS, OverScreen
from drillrunner.app.widgets.keypad import BAR, Keypad
from drillrunner.app.widgets.line import HidingLine
from drillrunner.app.widgets.readout import LargeDigits
from drillrunner.app.widgets.target import TargetWidget
from drillrunner.practice.looking_back.run_words import against_best, pattern_words, run_lines
from drillrunner.rules.run import Run
from drillrunner.rules.score import Score, beats
from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.practice.looking_back.what_next import NextThing
    from drillrunner.store.journal import Playing


def listed(run: Run) -> Content:
    """Every shot, numbered if it counts; an undone one struck through, and said to be."""
    return Content("\n").join(list(_lines(run)) or [Content("no balls")])


def _lines(run: Run) -> Iterator[Content]:
    for row in run_lines(run):
        number = f"{row.number:>3}" if row.number is not None else "  -"
        if row.state == "undone":
            said = Content.styled(row.words, "strike")
        elif row.state in ("note", "between"):
            said = Content.styled(row.words, "italic")
        else:
            said = Content(row.words)
        state = "" if row.state in ("counts", "note", "between") else f"  {row.state}"
        yield Content.assemble(f"{number}  ", said, state)


class ResultScreen(HasQuestions, ScrollScreen, OverScreen):
    """playing: the run that has ended. Undo, void and note still act, and may reopen it."""

    topic = "result"
    scrolled = "#shots"
    bar_words: ClassVar[dict[str, str]] = BAR_WORDS
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do", "result.again", "again", "Play again", shown=True),
        key("pattern", "result.pattern"),
        key("how_hard", "result.tune", "tune"),
        key("not_me", "result.not_me"),
        key("what_next", "result.what_next"),
    ]

    def __init__(self, playing: Playing) -> None:
        super().__init__(playing)
        drill = playing.drill
        self.title = f"{drill.title} · {words.setting(drill.setting())}"
        self.following: NextThing | None = None
        """What is next, once it is known."""

    def body(self) -> ComposeResult:
        with Container(id="outcome"):
            with Vertical(id="final"):
                yield Static("", id="plain", markup=False)
                yield LargeDigits("", id="digits")
            with Vertical(id="meaning"):
                yield Static("", id="headline", markup=False)
                yield Static("", id="standing", markup=False)
        yield Static("", id="pattern", markup=False)
        yield HidingLine(id="offer")
        yield HidingLine(id="next")
        yield NextLine(id="following")
        with Container(id="after"):
            with VerticalScroll(id="shots", can_focus=False):
                yield Static("", id="list")
            yield TargetWidget(id="target")
        yield Keypad(BAR, id="bar")

    def on_mount(self) -> None:
        self.query_one("#bar", Keypad).words = self.bar_words
        self.redraw()

    def refresh_from(self, playing: Playing) -> None:
        run = playing.run
        game = run.game
        best = playing.best_before.score if playing.best_before is not None else None
        stands = against_best(game.better, run, best, playing.broken is not None)
        score = words.score(run.score)
        self.query_one("#plain", Static).update(f"score {score}")
        digits = self.query_one(LargeDigits)
        digits.display = run.score is not None
        digits.update("" if run.score is None else text(run.score))
        digits.fit(self.size)
        headline = self.query_one("#headline", Static)
        headline.update(f"★ {stands.headline}" if stands.is_best else stands.headline)
        headline.set_class(stands.is_best, "-best")
        self.query_one("#standing", Static).update(
            "\n".join(filter(None, (stands.replaces, playing.broken or run.ended or "")))
        )
        self.query_one("#pattern", Static).update("\n".join(pattern_words(run.balls)))
        self.query_one("#list", Static).update(listed(run))
        self.query_one(TargetWidget).show(run.ask, run.balls)

        self._ask_offer()

    def _ask_offer(self) -> None:
        """Ask the odds whether the drill is plainly too easy or too hard, and of the next run."""
        store, playing, run = self.drillrunner.records.store, self.playing, self.playing.run
        self.following = None
        self.query_one(NextLine).show("")
        for name in ("#offer", "#next"):
            self.query_one(name, HidingLine).show("")
        if store is None:
            return
        best = playing.best_before
        beat: Score = None if best is None else best.score
        if run.finished and beats(run.game.better, run.score, beat):
            beat = run.score

        def question() -> tuple[str | None, NextTime]:
            player, drill = playing.player, playing.drill
            return offer(store, player, drill, beat), next_time(store, player, drill, beat)

        self.questions.ask(question, lambda found: self._advise(*found, beat))

    def _advise(self, said: str | None, after: NextTime, beat: Score) -> None:
        line = f"{said} · {FACES['how_hard']} opens that" if said else ""
        self.query_one("#offer", HidingLine).show(line)
        self.query_one("#next", HidingLine).show("\n".join(odds_words.next_lines(after, beat)))
        self._ask_what_next()

    def _ask_what_next(self) -> None:
        """What is next of all there is; in a session the next block is."""
        app, player = self.drillrunner, self.playing.player
        store, catalogue, now = app.records.store, app.drills.catalogue, app.clock()
        if store is None or not self.check_action("what_next", ()):
            return

        def question() -> NextThing | None:
            from drillrunner.services.what_next import first_thing

            return first_thing(store, player, catalogue, now)

        self.questions.ask(question, self._tell_what_next)

    def _tell_what_next(self, found: NextThing | None) -> None:
        self.following = found
        self.query_one(NextLine).show(next_line(found, "what_next"))

    def action_what_next(self) -> None:
        """Play what your rounds, patterns and scores say is next."""
        self.say(play_next(self.drillrunner, self.following))

    def on_resize(self) -> None:
        self.query_one(LargeDigits).fit(self.size)

    def kept(self) -> None:
        if self.playing.run.over:
            self.redraw()
            self.say(self.last)
        else:
            self.app.pop_screen()

    @property
    def over(self) -> str:
        ended, after = self.playing.run.ended, self.bar_words["enter"]
        return f"the run is over ({ended}): Enter: {after}, * takes the last back"

    def action_again(self) -> None:
        """The same drill, as it was set, from the start."""
        self.drillrunner.runs.play(self.playing.drill)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "what_next":
            # Another player's run says nothing of what the player of now is to do.
            return self.playing.player == self.drillrunner.player
        if action == "tune":
            return True if self.playing.drill.dial is not None else None
        return super().check_action(action, parameters)

    def action_not_me(self) -> None:
        """Give the run to the player whose it was."""
        playing = self.playing
        self.drillrunner.people.not_me(
            playing.player.id,
            lambda store, player: store.give_run(playing.id, player.id),
            self.action_back,
        )

    def action_pattern(self) -> None:
        """Where your shots with this club finish."""
        drill, balls = self.playing.drill, self.playing.run.balls
        self.drillrunner.open(doors.pattern_of(balls[-1].ask if balls else drill))

    def action_tune(self) -> None:
        """How hard this drill is for you, and what would fit."""
        self.drillrunner.open(doors.Tuning(self.playing.drill))
