"""Scores alone in a CSV file: columns `date gross rating slope pcc holes differential`.

A differential as the club shows it is kept as typed; without one it is worked out from gross,
course rating and slope.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from drillrunner.catalogue.courses import SLOPES
from drillrunner.practice.carries.columns import Sheet
from drillrunner.practice.rounds.card_file import BadCard, too_long
from drillrunner.practice.rounds.days import not_yet
from drillrunner.practice.rounds.handicap import (
    PCC,
    USUAL,
    Options,
    differential,
    nine_hole_differential,
)
from drillrunner.practice.rounds.index import NineHoles, RatedScore, Record, joined
from drillrunner.rules.units import NUMBER

COLUMNS = ("date", "gross", "rating", "slope", "pcc", "holes", "differential")
FEWEST, NINE, EIGHTEEN = 9, 9, 18
RATINGS = {NINE: (10, 60), EIGHTEEN: (40, 90)}
"""Course ratings that can be, of nine and of eighteen holes. Our choice, wide."""

DIFFERENTIALS = (Decimal(-54), Decimal(150))


@dataclass(frozen=True)
class ScoreRow:
    """One score of a list. differential: as the club shows it; gross, rating and slope else."""

    day: date
    gross: int | None
    rating: Decimal | None
    slope: int | None
    pcc: int
    holes: int
    differential: Decimal | None

    @property
    def place(self) -> tuple[object, ...]:
        """What makes two scores of one day likely to be the same round."""
        if self.rating is None or self.slope is None:
            return (self.differential, self.gross)
        return (self.rating, self.slope)

    @property
    def score(self) -> RatedScore | NineHoles:
        """What it gives to the record. Raises BadScore."""
        if self.differential is not None:
            return RatedScore.of(self.day, self.differential)
        assert self.gross is not None
        assert self.rating is not None
        assert self.slope is not None
        if self.holes == NINE:
            exact = nine_hole_differential(self.gross, self.rating, self.slope, self.pcc)
            return NineHoles(self.day, exact)
        return RatedScore.of(
            self.day, Fraction(differential(self.gross, self.rating, self.slope, self.pcc))
        )


def read_scores(sheet: Sheet, today: date | None = None) -> tuple[ScoreRow, ...]:
    """The scores of a list, oldest first, those of a day as they stand. Raises BadCard.

    today: where they are to be kept, so that their days must have come.
    """
    heads = [head.casefold() for head in sheet.heads]
    unknown = [head for head in heads if head not in COLUMNS]
    if unknown:
        raise BadCard([f"column {unknown[0]!r:.40}: expected one of {', '.join(COLUMNS)}"])
    if "date" not in heads:
        raise BadCard(["column 'date': missing"])
    rows, faults = [], []
    for line, row in sheet.rows:
        wrong: dict[str, str] = {}
        found = _row(dict(zip(heads, row, strict=False)), wrong)
        if why := too_long(heads, row):
            wrong = {"cells": why}
        elif found is not None and today is not None and (why := not_yet(found.day, today)):
            wrong["date"] = why
        faults += [f"line {line}, {name}: {reason}" for name, reason in wrong.items()]
        if found is not None:
            rows.append(found)
    if faults:
        raise BadCard(faults)
    return tuple(sorted(rows, key=lambda row: row.day))


def differential_typed(text: str) -> Decimal | None:
    """The differential that a text means; `None` for an empty one. Raises ValueError.

    A plus is refused: before an index it means under nought, in a sheet over it.
    """
    typed = text.strip()
    if not typed:
        return None
    low, high = DIFFERENTIALS
    value = Decimal(typed.replace(",", ".")) if NUMBER.fullmatch(typed) else None
    if value is None or typed.startswith("+") or not low <= value <= high:
        raise ValueError(f"expected {low} to {high}, - for under nought, not {typed!r:.40}")
    return value


def record_of(
    rows: Iterable[ScoreRow], options: Options = USUAL
) -> tuple[Record, NineHoles | None]:
    """The record that these make, and nine holes that wait for a partner."""
    scores, waiting = joined(row.score for row in rows)
    return Record.of(scores, options), waiting


def _row(cells: Mapping[str, str], wrong: dict[str, str]) -> ScoreRow | None:
    try:
        day = date.fromisoformat(cells.get("date", ""))
    except ValueError:
        wrong["date"] = f"expected a day as 2026-05-01, not {cells.get('date', '')!r:.40}"
        day = date.min
    holes = _count(cells, "holes", (FEWEST, EIGHTEEN), wrong)
    holes = EIGHTEEN if holes is None else holes
    shown = None
    try:
        shown = differential_typed(cells.get("differential", ""))
    except ValueError as error:
        wrong["differential"] = str(error)
    gross = _count(cells, "gross", (holes, 300), wrong)
    low, high = RATINGS[NINE if holes == NINE else EIGHTEEN]
    rating = _number(cells, "rating", (Decimal(low), Decimal(high)), wrong)
    slope = _count(cells, "slope", SLOPES, wrong)
    pcc = _count(cells, "pcc", PCC, wrong)
    if shown is None and not wrong:
        if holes not in (NINE, EIGHTEEN):
            wrong["differential"] = f"missing: of {holes} holes only the club's figure counts"
        for name, value in (("gross", gross), ("rating", rating), ("slope", slope)):
            if value is None:
                wrong[name] = "missing: expected it, or a differential as the club shows it"
    if wrong:
        return None
    return ScoreRow(day, gross, rating, slope, pcc or 0, holes, shown)


def _number(
    cells: Mapping[str, str], name: str, between: tuple[Decimal, Decimal], wrong: dict[str, str]
) -> Decimal | None:
    cell = cells.get(name, "")
    if not cell:
        return None
    low, high = between
    value = Decimal(cell.replace(",", ".")) if NUMBER.fullmatch(cell) else None
    if value is None or not low <= value <= high:
        wrong[name] = f"expected {low} to {high}, not {cell!r:.40}"
        return None
    return value


def _count(
    cells: Mapping[str, str], name: str, between: tuple[int, int], wrong: dict[str, str]
) -> int | None:
    low, high = between
    value = _number(cells, name, (Decimal(low), Decimal(high)), wrong)
    if value is None:
        return None
    if value != int(value):
        wrong[name] = f"expected a whole number, not {cells[name]!r:.40}"
    return int(value)
