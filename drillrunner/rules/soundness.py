"""What a game says, heard with care: it may raise, and it may say what can't be shown or kept."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from dis import opmap
from typing import TYPE_CHECKING, Any

from drillrunner.rules.score import Score
from drillrunner.rules.shot import Shot
from drillrunner.rules.station import Ask, Station

if TYPE_CHECKING:
    from drillrunner.rules.game import AnyGame

RAISE = opmap["RAISE_VARARGS"]

LARGEST = 2**53 // 100
"""The largest score: its hundredths are exact wherever they are kept or written."""


class Unsound(Exception):
    """A game said of a state what no game may say; the message is one line for its author."""


@contextmanager
def contained() -> Iterator[None]:
    """Let a game be called: one that leaves the program raises an ordinary error instead.

    A KeyboardInterrupt that a person typed goes its way; one that the game raises does not.
    """
    try:
        yield
    except SystemExit as error:
        raise Unsound("left the program (SystemExit)").with_traceback(error.__traceback__) from None
    except KeyboardInterrupt as error:
        if not _by_raise(error):
            raise
        said = Unsound("raised KeyboardInterrupt")
        raise said.with_traceback(error.__traceback__) from None


def _by_raise(error: BaseException) -> bool:
    """Whether a `raise` in the source raised an error, and not the interpreter."""
    last = error.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    if last is None:
        return False
    return last.tb_frame.f_code.co_code[last.tb_lasti] == RAISE


@dataclass(frozen=True, slots=True)
class Heard:
    """What a game said of one state, asked once.

    ask: of the next ball; once over, of the last one, and `None` if there was none.
    """

    state: Any
    readout: Mapping[str, Decimal | int | str]
    over: bool
    ended: str | None
    score: Score
    ask: Ask | None


def hear(game: AnyGame, state: Any, last: Ask | None = None) -> Heard:
    """Ask a game once for all that there is to know of a state. last: of the ball before."""
    readout, over, ended = game.readout(state), game.over(state), game.ended(state)
    ask = last if over else game.asked(state)
    return Heard(state, readout, bool(over), ended, game.score(state), ask)


def after(game: AnyGame, state: Any, shot: Shot) -> Any:
    """The state after this ball. Raises Unsound if the game changes the one before."""
    mark = hash(state)
    later = game.after(state, shot)
    if hash(state) != mark:
        raise Unsound("after: changes the state that it was given")
    return later


def unsound(game: AnyGame, heard: Heard) -> Iterator[str]:
    """What a game said of a state that can't be shown or kept, in words."""
    readout: Any = heard.readout
    if not isinstance(readout, Mapping) or not readout or not all(map(_said, readout)):
        yield "readout: empty, or without labels"
    elif not all(isinstance(value, str) or is_number(value) for value in readout.values()):
        yield "readout: a value that is neither a number (Decimal, int) nor a text"
    over, reason = heard.over, heard.ended
    if over != (reason is not None) or not (reason is None or _said(reason)):
        yield "ended: expected a reason exactly when the game is over"
    score: Any = heard.score
    if score is None:
        if over and game.better == "higher":
            yield "score: None at the end, which only a lower-is-better game may have"
    elif not is_number(score) or not _exact(score):
        yield f"score: expected a whole number or a Decimal of at most two places, not {score!r}"
    if heard.ask is not None and not over:
        yield from _unaskable(game, heard.ask)


def _unaskable(game: AnyGame, ask: Ask) -> Iterator[str]:
    if ask.asks != game.asks and ask.asks not in game.also_asks:
        yield f"station: asks {ask.asks!r}, which the game does not say that it may ask"
    elif not ask.grid > 0:
        yield "station: its grid is not above 0"
    for field, reason in Station(ask.aim, ask.asks).faults():
        yield f"station: {field}: {reason}"


def _said(value: object) -> bool:
    return isinstance(value, str) and bool(value.strip())


def is_number(value: object) -> bool:
    """Whether a value is a finite number of the kinds that a game may say."""
    if isinstance(value, Decimal):
        return value.is_finite()
    return isinstance(value, int) and not isinstance(value, bool)


def _exact(score: Decimal | int) -> bool:
    """Whether a score has at most two decimals and is not too large to be kept."""
    value = Decimal(score)
    return abs(value) <= LARGEST and value == round(value, 2)


def file_of(game: type[AnyGame]) -> str | None:
    """The file that a game's class came from."""
    return getattr(sys.modules.get(game.__module__), "__file__", None)


def place(error: BaseException, file: str | None) -> int | None:
    """The line of `file` on which an error was raised: the innermost, `None` if not there."""
    if isinstance(error, SyntaxError) and error.filename == file:
        return error.lineno
    stack = traceback.extract_tb(error.__traceback__)
    return next((frame.lineno for frame in reversed(stack) if frame.filename == file), None)
