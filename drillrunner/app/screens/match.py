"""A match in play: whose turn it is, the board, and the hand of whoever is to play."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from drillrunner.app import bays, doors, match_start, odds_words, words
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import key
from drillrunner.app.match_odds import MatchFollower, MatchMoment, MatchTold
from drillrunner.app.screens.following import Follows
from drillrunner.app.screens.keeping import KeepingScreen, so_many
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.widgets.board import CROWD, Board, LargeName
from drillrunner.app.widgets.target import TargetWidget
from drillrunner.odds.words import share
from drillrunner.practice.looking_back.run_words import last_words, time_played
from drillrunner.practice.matches.match import Match
from drillrunner.practice.matches.record import won
from drillrunner.practice.sessions.session import balls_hit
from drillrunner.rules.run import Entry, Refused, Run
from drillrunner.services.match_desk import MatchDesk
from drillrunner.store.errors import BrokenGame, PlayedElsewhere, StoreError

if TYPE_CHECKING:
    from drillrunner.store.journal import Playing
    from drillrunner.store.store import Store


class MatchScreen(Follows, KeepingScreen):
    """What play and result of a match share: entries go to the desk, which finds their run."""

    _match_before: Match
    """The match before the first entry that waits for the disk."""

    def __init__(self, desk: MatchDesk) -> None:
        self.desk = desk
        super().__init__(desk.playing())

    @property
    def whose(self) -> str:
        """Who plays, for the top line."""
        return f"match of {len(self.desk.board)}"

    def headline(self) -> str:
        """Who has won; empty while that is open."""
        decision = self.desk.match.decision
        return "" if decision is None else f"★ {won(decision, self.desk.names)}"

    @property
    def ahead(self) -> Run:
        if not self.unwritten:
            return self.playing.run
        return self.desk.ahead(self._match_before, self.unwritten)

    def keep(self, entry: Entry) -> None:
        if not self.unwritten:
            self._match_before = self.desk.match
        super().keep(entry)

    def write(self, entry: Entry, at: datetime) -> Any:
        return self.desk.match.decision, self.desk.keep(entry, at)

    def turned_back(self) -> None:
        self.turned("")

    @property
    def known(self) -> str:
        if self.desk.own is not None:
            return super().known
        return f"this match, {so_many(self.desk.known + len(self.unwritten))}"

    def write_anew(self) -> None:
        session = self.drillrunner.sessions.desk
        if session is not None:
            session.write_anew()
        if self.desk.own is None:
            self.desk.write_anew()
            self._match_before = self.desk.match
            self.turned("")
        else:
            self.desk.write_runs_anew(self._match_before, self.unwritten)
            self.drillrunner.records.give_up_unwritten()
            MatchScreen.left(self)

    def took(self, written: Any) -> str:
        decided, (name, before, after, self._match_before) = written
        if self.drillrunner.sessions.desk is not None:
            self.drillrunner.sessions.desk.beside(name, balls_hit(after) - balls_hit(before))
        said = f"{name}: {last_words(before, after)}"
        now = self.desk.match.decision
        self.turned(self.headline() if now is not None and now != decided else "")
        return said

    def turned(self, news: str) -> None:
        """Somebody else may be in hand now. news: who has won, if that was settled just now."""
        self.playing = self.desk.playing()

    def others_played(self) -> None:
        # Whose hand it was is still in it where nothing but a note or a coming was told.
        self.last = self.desk.last
        self.turned("")
        self.kept()

    def report_fault(self, broken: BrokenGame) -> None:
        if self.desk.record.broken is None:
            self.desk.end_broken(broken)
        super().report_fault(broken)


class MatchPlayScreen(MatchScreen, PlayScreen):
    """desk: the match, with somebody to play."""

    topic = "match"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("people", "match.people"),
    ]

    def __init__(self, desk: MatchDesk) -> None:
        self.desk = desk
        PlayScreen.__init__(self, desk.playing(), desk.playing().best_before)
        self.last = desk.last
        self.chances: dict[str, float] | None = {}
        self._news = ""
        self._up = desk.up
        self._everyone: MatchFollower | None = None
        self._entitle()

    def look(self) -> ComposeResult:
        yield LargeName(id="whose")
        yield Board(id="board")
        yield from super().look()

    def read(self, store: Store) -> None:
        # The result screen may have reopened the match.
        if self.desk.turn is not None:
            self.turned("")
        self.last = self.desk.last
        if self.started is None:
            now = self.drillrunner.clock()
            begun = [playing for playing in self.desk.playings.values() if playing.begun]
            times = sorted(entry.at for one in begun for entry in store.entries(one.id))
            self.started = now - time_played(times, now) if times else None
        if self.is_mounted:
            self.redraw()

    def turned(self, news: str) -> None:
        playing = self.desk.playing()
        if playing is not self.playing:
            if self.typed:
                news = news or f"{self.typed} is not taken: it is another's turn now"
            self.typed = ""
            self._density = None
        self.playing, self.best = playing, playing.best_before
        self._news = news
        self._entitle()

    def _entitle(self) -> None:
        self.title = words.entitled(self.playing)

    def refresh_from(self, playing: Playing) -> None:
        self._entitle()
        board = self.desk.board
        self.set_class(len(board) > CROWD, "-crowded")
        turn = self._up = self.desk.up
        note = "plays the decider" if turn.lap else "to play"
        self.query_one("#whose", LargeName).show(self.desk.names[turn.player], note)
        self._show_board()
        super().refresh_from(playing)
        if self._news or self.headline():
            self.say(self._news or f"{self.headline()} · playing on; Esc closes the match")

    def at_first(self) -> bool:
        return not any(isinstance(move.what, Entry) for move in self.desk.match.moves)

    def others_played(self) -> None:
        typed, up = self.typed, self._up
        if self.desk.turn is not None and self.desk.up != up:
            self.say()  # what a key was answered with was of the turn before
        super().others_played()
        if self.desk.turn is not None and self.desk.up == up:
            self.typed = typed
            self.redraw()

    def others_went(self, before: frozenset[str]) -> None:
        self._show_board()
        names = self.desk.names
        if gone := [names[one] for one in self.away - before if one in names]:
            self.say(
                f"{' and '.join(gone)} {'is' if len(gone) == 1 else 'are'} away; may come back"
            )
        elif back := [names[one] for one in before - self.away if one in names]:
            self.say(f"{' and '.join(back)} {'is' if len(back) == 1 else 'are'} here again")

    def _show_board(self) -> None:
        level: frozenset[str] = frozenset()
        if self.desk.up.lap:
            level = frozenset(line.entrant.id for line in self.desk.board if not line.out)
        self.query_one("#board", Board).show(self.desk.board, self.chances, level, self.away)

    def _ask_chance(self, run: Run) -> None:
        store, match = self.drillrunner.records.store, self.desk.match
        if store is None or match is self._asked or self.desk.turn is None:
            return
        self._asked = match
        if match.decision is not None or self.desk.up.lap:
            self.questions.drop()
            self.chances = {}
            self.show_chance("", None)
            self._show_board()
            return
        follower = self._everyone = self._everyone or MatchFollower(store)
        standing = MatchMoment.of(self.desk, self.query_one(TargetWidget).span)
        self.chances = None
        self.show_chance(odds_words.WAITING, self._density)
        self._show_board()
        self.questions.ask(lambda: follower.tell(standing), self._told_all, self._no_odds)

    def _told_all(self, told: MatchTold) -> None:
        self.chances = dict(told.chances)
        mine = told.chances[self.desk.up.player]
        about = "" if told.exact else "~ "
        behind = odds_words.behind(told.shots, told.guess)
        self.show_chance(f"{about}{share(mine)} to win · {behind}", told.density)
        self._show_board()

    def _no_odds(self, error: Exception) -> None:
        self.chances = {}
        self.show_chance(f"no odds: {error}", None)
        self._show_board()

    def kept(self) -> None:
        if self.started is None:
            self.started = self.drillrunner.clock()
        if self.desk.turn is None:
            self.drillrunner.open(doors.MatchResult(self.desk))
        else:
            self.redraw()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "people":
            return self.desk.ghost is None and self.desk.up.lap == 0
        return super().check_action(action, parameters)

    def action_people(self) -> None:
        """Somebody comes late, comes back, or has to go."""
        if self.desk.own is None:
            match_start.people(self.drillrunner, self)
        else:
            bays.who_goes(self.drillrunner, self)

    def came_or_went(self) -> None:
        """The match has other players now."""
        self.turned("")
        self.kept()

    def moved(self, move: Callable[[], object]) -> None:
        """Do something to the match that may be refused, and show it."""
        if self.unwritten:
            self.say(self._still())
        else:
            self.drillrunner.records.apart(partial(self._moved, move))

    def _moved(self, move: Callable[[], object]) -> None:
        try:
            move()
        except Refused as refused:
            self.say(str(refused))
        except (PlayedElsewhere, StoreError) as error:
            self.turned("")
            self.redraw()
            self.say(str(error))
        else:
            self.came_or_went()

    def action_back(self) -> None:
        """Leave the match: one answer for all, whether its runs are kept open or given up."""
        if self.desk.own is not None:
            self._leave_bay(self.desk.own)
            return
        if self.unwritten and not self.drillrunner.records.unwritten.kept:
            super().action_back()
            return
        if not any(isinstance(move.what, Entry) for move in self.desk.match.moves):
            self.drillrunner.records.with_store(lambda _: self.desk.close())
            super().action_back()
            return

        def answered(choice: str | None) -> None:
            ends = {"close": self.desk.close, "give_up": self.desk.give_up}
            if choice in ends:
                self.drillrunner.records.with_store(lambda _: ends[choice]())
            if choice is not None:
                MatchPlayScreen.leave_it(self)

        later = ("later", "leave it open", "go on together later, from the home screen")
        rows = [
            ("close", "end it, keep the runs", "open runs stay open; each can be finished alone"),
            ("give_up", "end it, give the open runs up", "all are kept, and can't be bests"),
        ]
        rows.insert(1 if self.headline() else 0, later)
        title = self.headline() or "Leave the match?"
        self.app.push_screen(Choice(title, rows, back="play on"), answered)

    def _leave_bay(self, own: str) -> None:
        """Leave this screen, or the match itself: the others play on."""

        def answered(choice: str | None) -> None:
            if choice == "leave":
                self.drillrunner.records.with_store(lambda _: self.desk.leave(own))
            if choice is not None:
                MatchPlayScreen.leave_it(self)

        rows = [("later", "come back later", "the others see that you are away; home leads back")]
        if any(line.entrant.id == own and line.present for line in self.desk.board):
            rows.append(("leave", "leave the match", "your score stands, your run stays open"))
        title = self.headline() or "Leave the match?"
        self.app.push_screen(Choice(title, rows, back="play on"), answered)

    def leave_it(self) -> None:
        """Go back to where the match was started from."""
        super().action_back()
