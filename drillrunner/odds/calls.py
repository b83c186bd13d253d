"""How well a player calls carries: the newer calls beside the older ones, in words."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from math import sqrt
from statistics import fmean, variance

from drillrunner.odds.observe import Hit, yards
from drillrunner.rules.units import Unit, convert

FEWEST = 8
"""Calls before anything is said of a change."""
SURE = 1.6449
"""Standard errors that the difference must be: 19 in 20 one way or the other. Welch 1947,
Biometrika 34 (title from memory); the normal in place of his t, so a little too sure of few."""


def sizes(records: Iterable[Hit], unit: Unit) -> list[float]:
    """How far off each call was, never negative, in a unit; in the order given."""
    scale = float(convert(Decimal(1), "yd", unit))
    pairs = ((record.shot.off_call, record.unit) for record in records)
    return [scale * yards(seen.size, own) for seen, own in pairs if seen is not None]


def change(newest_first: list[float], unit: Unit) -> str | None:
    """Whether the newer half of the calls is nearer than the older; `None` while they are few."""
    if len(newest_first) < FEWEST:
        return None
    half = len(newest_first) // 2
    new, old = newest_first[:half], newest_first[half:]
    now, before = fmean(new), fmean(old)
    error = sqrt(variance(new) / len(new) + variance(old) / len(old))
    figures = f"{now:.1f} {unit} off lately, {before:.1f} before"
    if abs(now - before) <= SURE * error:
        return f"no change that is sure: {figures}"
    return f"{'nearer' if now < before else 'further off'} than before: {figures}"
