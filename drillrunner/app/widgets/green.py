"""Balls that were played to the hole: a row for each length, and what every ball took or left.

Where on the green a ball lay was not asked, so no place is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from statistics import mean

from drillrunner.app import words
from drillrunner.app.widgets.canvas import Cell, CellCanvas
from drillrunner.rules.run import Ball
from drillrunner.rules.station import Ask
from drillrunner.rules.units import text

HOLED = "●"
DUE = "▶"


def draw_green(canvas: CellCanvas, ask: Ask, shown: Sequence[Ball]) -> None:
    """Draw these balls, oldest first; the length that is due is marked."""
    canvas.centred(0, canvas.width, 0, _counts(ask, shown))
    rows: dict[str, list[Ball]] = {}
    for ball in shown:
        rows.setdefault(words.reach(ball.aim, ball.ask.unit), []).append(ball)
    due = words.reach(ask.aim, ask.unit)
    rows.setdefault(due, [])
    names = list(rows)
    room = canvas.height - 1
    if len(names) > room:
        # The newest lengths, and the one that is due.
        latest = list(dict.fromkeys(words.reach(b.aim, b.ask.unit) for b in reversed(shown)))
        kept = {due, *latest[: room - 1]}
        names = [name for name in names if name in kept]
    wide = max(map(len, names)) + 3
    gap = 2 if len(names) * 2 <= room else 1
    top = gap if len(names) * gap <= room else 1
    for at, name in enumerate(names):
        y = top + at * gap
        canvas.write(
            0, y, f"{DUE if name == due else ' '} {name}", "edge" if name == due else "label"
        )
        x = wide
        signs = [_sign(ball) for ball in rows[name]]
        while signs and sum(len(sign) + 1 for sign, _ in signs) > canvas.width - wide:
            signs.pop(0)
        first = len(rows[name]) - len(signs)
        for (sign, role), ball in zip(signs, rows[name][first:], strict=True):
            for character in sign:
                canvas.put(x, y, Cell(character, role, ball is shown[-1]))
                x += 1
            x += 1


def _sign(ball: Ball) -> tuple[str, str]:
    """What is written for a ball, and its role: a shape for the best, a number for any other."""
    shot = ball.shot
    if shot.strokes is not None:
        return (HOLED if shot.strokes == 1 else str(shot.strokes), _role(shot.strokes))
    left = shot.leave or Decimal(0)
    return (text(left) if left else HOLED, "in" if not left else "label")


def _role(strokes: int) -> str:
    return {1: "in", 2: "label"}.get(strokes, "out")


def _counts(ask: Ask, shown: Sequence[Ball]) -> str:
    """How many of each, over the picture."""
    return " · ".join(_said(ask, shown))


def _said(ask: Ask, shown: Sequence[Ball]) -> Iterator[str]:
    if ask.asks == "strokes":
        taken = [ball.shot.strokes or 0 for ball in shown]
        yield f"{HOLED} in one {taken.count(1)}"
        yield f"in two {taken.count(2)}"
        yield f"more {sum(strokes > 2 for strokes in taken)}"
        return
    lefts = [ball.shot.leave for ball in shown if ball.shot.leave is not None]
    yield f"{HOLED} holed {lefts.count(Decimal(0))}"
    if lefts:
        yield f"on average {text(round(mean(lefts), 1))} {ask.measure} left"
