"""The session's own screen: the block in hand, what it is for, and what comes after it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.widgets import Static

from drillrunner.app import gaps, words
from drillrunner.app.dialog import Choice, Unwritten
from drillrunner.app.face import WIDE
from drillrunner.app.keys import drawn_key, key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.line import HidingLine, TextLine
from drillrunner.app.widgets.readout import LargeDigits
from drillrunner.catalogue.drill import BadDrill, NeedsStock
from drillrunner.practice.sessions.compose import COMPOSED, WARM_BALLS
from drillrunner.practice.sessions.plan import reason
from drillrunner.practice.sessions.refit import balls, clock
from drillrunner.rules import keypad
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.app.session_desk import Desk
    from drillrunner.catalogue.drill import Drill
    from drillrunner.practice.sessions.session import BlockState
    from drillrunner.store.store import Store

COUNTED = ("warm-up", "technique", "free")
"""Kinds of block whose balls are counted by one key."""

BLOCK_WORDS = {
    "0": "next",
    "7": "pause",
    "9": "skip",
    "1": "later",
    "3": "stop",
    "plus": "more",
    "slash": "home",
    "full_stop": "menu",
}

ACTS = (
    ("0", "next", "next", "Next block", "This block is done; a game in play is left open"),
    ("7", "pause", "pause", "Pause", "Stop the session's clock, or let it run again"),
    ("plus,add", "more", "more", "More time", "Two minutes and five balls more for this block"),
    ("9", "skip", "skip", "Skip block", "Go on without this block; it can be brought back"),
    ("1", "back", "put_back", "Put back", "Do this block after the next one"),
    ("3", "stop", "stop", "Stop session", "End the session at once; everything is kept"),
)
"""What the drawn keys do to the session: keys, act, id, name and what that does."""


class SessionScreen(HasQuestions, ScrollScreen):
    """The block in hand. The number block means what stands on the drawn keys."""

    topic = "session"
    scrolled = "#look"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do go", "session.ball", "ball", "Ball", shown=True),
        key("do go", "session.play", "play", "Begin", shown=True),
        key(
            "do",
            "session.after",
            "app.session('next')",
            "Next block",
            shown=True,
            tip="This block is done",
        ),
        key("go", "session.again", "again", "Once more", shown=True),
        key("undo", "session.take_back", "take_back", shown=True),
        *(
            drawn_key(
                keys,
                f"app.session('{act}')",
                f"session.key_{id}",
                name,
                face="+" if act == "more" else keys,
                tip=tip,
            )
            for keys, act, id, name, tip in ACTS
        ),
        key("gap", "session.gap"),
        drawn_key("6", "gap", "session.key_gap", "Gap"),
    ]

    place = "session"

    def __init__(self) -> None:
        super().__init__()
        desk = self.drillrunner.sessions.desk
        assert desk is not None
        self.desk: Desk = desk
        """The session that this screen is of, also once it has been put away."""
        self._take()
        self.drill: Drill | None = None
        self._trouble = ""
        self._said = ""
        self._has_gap = False
        self._played: set[str] = set()
        """Drills that were played in this session."""
        self._anew: dict[object, str] = {}
        """Why a block is there, worked out again when it comes up, by its place and what was played
        till then."""

    def _take(self) -> None:
        """Hold the session, and the block in hand, as they are going to be shown."""
        self.session = self.desk.session
        self.state = self.session.now

    # ---- what is shown ----

    def body(self) -> ComposeResult:
        with Container(id="bay"):
            with VerticalScroll(id="look", can_focus=False):
                yield TextLine(id="block-head")
                yield HidingLine(id="refit")
                yield Static("", id="thought", markup=False)
                yield LargeDigits("", id="digits")
                yield Static("", id="to-come", markup=False)
            with Vertical(id="hand"):
                yield Keypad(id="keypad")

    def on_mount(self) -> None:
        self.show()
        # The key that pauses says what it does now.
        self.watch(self.app, "session_face", self._ticked, init=False)

    def _ticked(self) -> None:
        if self.is_current:
            self._take()
            self._draw_keys()

    def on_screen_resume(self) -> None:
        if self.is_current:
            self.desk.after_screen()
        super().on_screen_resume()

    @property
    def whose(self) -> str:
        """Whose session it is, for the top line."""
        return self.desk.player.name

    def read(self, store: Store) -> None:
        if self.is_mounted:
            self.show()

    def _read_drill(self) -> None:
        """The drill of the block in hand, or why it can't be played."""
        self.drill, self._trouble, self._said, self._has_gap = None, "", "", False
        store, state = self.drillrunner.records.store, self.state
        if store is not None:
            ids = [id for block in self.session.blocks for id in block.runs]
            self._played = {run.drill for id in ids if (run := store.run(id)) is not None}
        if store is None or state is None or state.block.kind != "drill":
            return
        try:
            self.drill = self.desk.drill(store)
        except KeyError as error:
            self._trouble = str(error.args[0])
        except (BadDrill, NeedsStock) as error:
            self._trouble = str(error)
        else:
            best = store.best(self.desk.player.id, self.drill.fingerprint)
            lines = [
                f"{words.club(self.drill.club)} · {words.setting(self.drill.setting())}",
                "no best yet: your first score sets it"
                if best is None
                else f"your best is {words.score(best.score)}",
            ]
            runs = [run for id in state.runs if (run := store.run(id)) is not None]
            lines += [f"today {words.score(run.score)}: {run.ended or 'open'}" for run in runs]
            if gap := gaps.nearest_words(self.drillrunner, self.drill):
                lines.append(gap)
                self._has_gap = True
            self._said = "\n".join(lines)

    def _ask_anew(self) -> None:
        """Whether what a drill was planned for still holds, after what was hit meanwhile."""
        state, store = self.state, self.drillrunner.records.store
        key = self._now
        if state is None or store is None or key in self._anew or not self.session.balls_used:
            return
        if self.session.plan.id != COMPOSED or state.block.kind != "drill" or state.runs:
            return
        self._anew[key] = state.block.why
        app, player, block = self.drillrunner, self.desk.player, state.block
        catalogue, now = app.drills.catalogue, app.clock()

        def question() -> str:
            from drillrunner.services.planning import reason_now

            return reason_now(store, player, catalogue, block, now)

        def told(why: str) -> None:
            self._anew[key] = why
            self._show_count()

        self.questions.ask(question, told)

    @property
    def _now(self) -> object:
        return self.session.current, frozenset(self._played)

    def changed(self) -> None:
        self.show()

    def show(self) -> None:
        """Show the block in hand as it stands."""
        records = self.drillrunner.records
        records.apart(self._show, partial(records.is_there, self))

    def _show(self) -> None:
        self._take()
        state = self.state
        if state is None:
            return
        self._read_drill()
        self.title = f"Session · {self.session.plan.title}"
        thought = self._thought(state)
        self.query_one("#thought", Static).update(thought)
        self.query_one("#thought").display = bool(thought)
        self._show_count()
        self.query_one("#refit", HidingLine).show("\n".join(f"◆ {line}" for line in self.desk.said))
        self._ask_anew()
        self.query_one("#to-come", Static).update(self._to_come())
        self._draw_keys()
        self.refresh_bindings()
        if self._trouble:
            self.say(self._trouble)

    def _thought(self, state: BlockState) -> str:
        block = state.block
        parts = [block.thought, self._said, block.note]
        if block.kind == "find":
            parts.insert(
                0,
                f"{words.club(block.club or '')}, {block.swing} swing: "
                f"{numbered(block.shots or 0, 'ball')}, each the same. "
                "Their carries stay hidden until the end.",
            )
        if block.kind == "drill":
            parts.append(self.drill.about if self.drill is not None else self._trouble)
        if block.kind == "free":
            parts.insert(0, "Whatever you like; a drill from home counts here too.")
        return "\n".join(part for part in parts if part)

    def _show_count(self) -> None:
        session, state = self.session, self.state
        if state is None:
            return
        block = state.block
        used, counted = session.block_balls, block.kind in COUNTED
        place = (session.current or 0) + 1
        self.query_one("#block-head", TextLine).show(
            "\n".join((f"{place} of {len(session.blocks)} · {block.title}", *self._why(state)))
        )
        digits = self.query_one(LargeDigits)
        digits.display = counted
        if digits.value != str(used):
            digits.update(str(used))
        digits.fit(self.size)

    def _why(self, state: BlockState) -> Iterable[str]:
        """Why the block is there, as of now; and its balls where the clock has no room for them."""
        balls = f"balls {self.session.block_balls} of {state.balls}"
        said = [] if self.size.width >= WIDE else [balls]
        if why := reason(state, self._played, self._anew.get(self._now)):
            said.append(why)
        return [" · ".join(said)] if said else []

    def _to_come(self) -> str:
        fits = self.session.forecast
        lines = [
            f"then {share.block.title} · {clock(share.seconds)}"
            + (f", {balls(share.balls)}" if share.balls else "")
            for share in fits.shares
        ]
        lines += [f"not: {share.block.title}, no room is left" for share in fits.dropped]
        return "\n".join(lines) or "the last block"

    def _draw_keys(self) -> None:
        state = self.state
        if state is None:
            return
        said = dict(BLOCK_WORDS)
        if self.session.paused:
            said["7"] = "go on"
        if state.block.kind in COUNTED:
            said |= {"enter": "ball", "5": "ball", "asterisk": "undo", "backspace": "undo"}
        elif self._done:
            said |= {"enter": "next", "5": "again"}
        else:
            said |= {"enter": "begin", "5": "begin"}
        if self._has_gap:
            said["6"] = "gap"
        pad = self.query_one(Keypad)
        pad.words = said
        pad.idle = frozenset({"2", "4", "6", "8", "minus", "asterisk", "backspace"} - said.keys())

    def refit(self) -> None:
        self._show_count()

    # ---- what can be done ----

    @property
    def _done(self) -> bool:
        """Whether what this block is for has been done: its game, or its search."""
        state = self.state
        if state is None or state.block.kind in COUNTED:
            return False
        if state.block.kind == "find":
            return state.revealed
        return bool(state.runs) and self.session.run is None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        state = self.state
        counted = state is not None and state.block.kind in COUNTED
        if action in ("ball", "take_back"):
            return counted
        if action == "play":
            return not counted and not self._done
        if action == "again":
            return self._done and self.drill is not None
        if action == "gap":
            return self._has_gap
        return True

    def on_key(self, event: events.Key) -> None:
        if event.key in self.active_bindings or keypad.is_modifier(event.key):
            return
        if event.is_printable:
            self.hint(f"{event.character} means nothing here: the drawn keys say what does")

    @on(Keypad.Pressed)
    async def _clicked(self, event: Keypad.Pressed) -> None:
        event.stop()
        if event.key in self.active_bindings:
            found = self.active_bindings[event.key]
            await self.app.run_action(found.binding.action, found.node)

    def action_ball(self) -> None:
        """One ball hit."""
        self._ball(1, "")

    def action_take_back(self) -> None:
        """One ball fewer in this block."""
        self._ball(-1, "one ball taken back")

    def _ball(self, count: int, said: str) -> None:
        def kept() -> None:
            self._take()
            if self.is_mounted:
                self._show_count()
                self._draw_keys()
                self.say(said or self._still())

        self.desk.attempt(partial(self.desk.ledger.ball, count), kept)

    def _still(self) -> str:
        state = self.drillrunner.records.unwritten
        return "" if state.kept else str(state)

    def waits(self) -> None:
        self.desk.say_waiting()

    def action_back(self) -> None:
        """Back to home; the session goes on. What waits for the disk is asked about first."""
        state = self.drillrunner.records.unwritten
        if state.kept:
            super().action_back()
            return

        def answered(choice: str | None) -> None:
            if choice == "leave":
                self.drillrunner.records.give_up_unwritten()
                self.app.pop_screen()

        self.app.push_screen(Unwritten(state), answered)

    def action_play(self) -> None:
        """Play the drill, or begin the search; go on with one that was left open."""
        state = self.state
        if state is None:
            return
        if self.desk.unsettled:
            self.desk.say_waiting()
        elif state.block.kind == "find":
            self._search(state)
        elif self.session.run is not None:
            self.desk.go_on_with_run()
        elif self.drill is not None:
            self._play(self.drill)
        else:
            self.say(self._trouble or "still opening your records")

    def _play(self, drill: Drill) -> None:
        """Play a drill as the player of the session, whoever has played beside it meanwhile."""
        self._take_over()
        self.drillrunner.runs.play(drill)

    def _take_over(self) -> None:
        app, mine = self.drillrunner, self.desk.player.id
        if app.player is None or app.player.id != mine:
            app.records.with_store(lambda store: app.people.now_plays(store.player_of(mine)))

    def _search(self, state: BlockState) -> None:
        """Begin the search, once one is warm: asked once, and only where nothing says so yet."""
        warm = self.desk.warm or state.block.warm or self.session.balls_used >= WARM_BALLS
        if state.typed or warm:
            self.desk.show_find()
            return

        def answered(warm: str | None) -> None:
            if warm == "warm":
                self.desk.warm = True
                self.desk.show_find()
            elif warm == "cold":
                self.say(f"{WARM_BALLS} easy balls first; then Enter begins the search")

        rows = (
            ("warm", "yes", "the search begins"),
            ("cold", "not yet", f"{WARM_BALLS} easy balls first"),
        )
        self.app.push_screen(Choice("Are you warm?", rows, words.COLD_BALLS), answered)

    def action_again(self) -> None:
        """Play the drill of this block again."""
        if self.desk.unsettled:
            self.desk.say_waiting()
        elif self.drill is not None:
            self._play(self.drill)

    def action_gap(self) -> None:
        """Play through a gap of your range, at its own width."""
        if self.drill is not None:
            self._take_over()
            gaps.choose(self.drillrunner, self.drill)
