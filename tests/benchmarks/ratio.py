"""A figure beside the same figure of something bare, and the line that shows both."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median

WIDTH = 58
HEADINGS = f"{'':<{WIDTH}} {'ours':>10} {'bare':>10} {'':<4} {'ratio':>6} {'before':>11} {'aim':>6}"


@dataclass(frozen=True)
class Ratio:
    """What was measured: ours and the bare thing's figure in `unit`.

    aim: the ratio aimed at, or what ours should be in words. before: the same as it was once.
    """

    what: str
    ours: float
    bare: float
    unit: str
    aim: float | str | None = None
    before: str = ""


def line(ratio: Ratio) -> str:
    """One line of the table."""
    aim = f"{ratio.aim:.1f}" if isinstance(ratio.aim, float) else ratio.aim or ""
    return (
        f"{ratio.what:<{WIDTH}} {ratio.ours:>10.2f} {ratio.bare:>10.2f} {ratio.unit:<4} "
        f"{ratio.ours / ratio.bare:>6.2f} {ratio.before:>11} {aim:>6}"
    )


def in_turn(first: Callable[[], float], second: Callable[[], float], times: int) -> list[float]:
    """The medians of two measurements, taken in turn so that both meet the same machine."""
    pairs = [(first(), second()) for _ in range(times)]
    return [median(values) for values in zip(*pairs, strict=True)]


def milliseconds(work: Callable[[], object]) -> float:
    """How long one call takes."""
    start = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - start)
