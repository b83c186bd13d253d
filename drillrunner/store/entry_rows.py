"""What lies in the rows of a run and its entries: what was read, and what follows from it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any, Protocol

from sqlalchemy import Connection, Table

from drillrunner.catalogue.drill import Drill
from drillrunner.rules.game import AnyGame
from drillrunner.rules.run import Entry, Kind, Refused, Standing
from drillrunner.rules.score import Better, Score
from drillrunner.rules.shot import Aim, Direction, Seen, Shot
from drillrunner.rules.soundness import file_of, place
from drillrunner.store import tables as t
from drillrunner.store.errors import BrokenGame, StoreError
from drillrunner.store.stored import hundredths, prose, stamp

Summary = dict[str, Any]
"""Columns of a run that follow from its entries."""

BROKEN = "broken"
"""Why a run ended whose game raised."""


def all_but_number(table: Any) -> list[str]:
    """The columns of a table that are given when a row is added."""
    return [column.name for column in table.columns if column.name != "number"]


ENTRY = tuple(all_but_number(t.entry))
FIRST = ("run", "player", "seq", "at", "at_offset")
"""Of an entry which it is, whose, and when: every one has these."""
REST = tuple(name for name in ENTRY if name not in FIRST)
_EMPTY = dict.fromkeys(ENTRY)

Laid = tuple[tuple[str, ...], tuple[Any, ...]]
"""An entry of many: the names of the columns after `FIRST` that it has, and the values of all."""


def lay(connection: Connection, table: Table, rows: Iterable[Laid]) -> None:
    """Write many entries at once, on the driver's own cursor.

    Most columns of an entry are empty, and handing over an empty one takes as long as a full one,
    so that those alone are named that it has. A server is handed all: it is waited for once for
    each kind of row. Raises StoreError where one is there twice.
    """
    sqlite = connection.dialect.name == "sqlite"
    if not sqlite:
        rows = ((REST, _filled(*row)) for row in rows)
    cursor = connection.connection.cursor()
    try:
        for names, some in groupby(rows, key=itemgetter(0)):
            text = _insertion(table.name, names, "?" if sqlite else "%s")
            cursor.executemany(text, [values for _, values in some])
    except Exception as error:
        if "unique" in str(error).lower():
            raise StoreError("entry: one of a run is in the document twice") from error
        raise
    finally:
        cursor.close()


@lru_cache(maxsize=1024)
def _insertion(table: str, names: tuple[str, ...], mark: str) -> str:
    columns = (*FIRST, *names)
    named = ", ".join(f'"{name}"' for name in columns)
    return f"INSERT INTO {table} ({named}) VALUES ({', '.join([mark] * len(columns))})"


def _filled(names: tuple[str, ...], values: tuple[Any, ...]) -> tuple[Any, ...]:
    """The values of an entry with those of the columns that it has not."""
    has = dict(zip(names, values[len(FIRST) :], strict=True))
    return (*values[: len(FIRST)], *map(has.get, REST))


def entry_row(entry: Entry, seq: int, at: datetime) -> dict[str, Any]:
    """The columns of an entry that it fills by itself. Raises Refused for text that has no form."""
    try:
        text = prose(entry.text, entry.kind)
    except StoreError as error:
        raise Refused(str(error)) from error
    utc, offset = stamp(at)
    row = {**_EMPTY, "seq": seq, "at": utc, "at_offset": offset, "kind": str(entry.kind)}
    row["text"] = text
    return row if entry.shot is None else {**row, **_shot_row(entry.shot)}


def _shot_row(shot: Shot) -> dict[str, Any]:
    return {
        **_seen_row("lateral", shot.lateral),
        **_seen_row("depth", shot.depth),
        "carry": hundredths(shot.carry),
        "carry_grid": hundredths(shot.carry_grid),
        "out": shot.out,
        "strokes": shot.strokes,
        "leave": hundredths(shot.leave),
        "leave_grid": hundredths(shot.leave_grid),
        "call": hundredths(shot.call),
        "call_grid": hundredths(shot.call_grid),
    }


def _seen_row(direction: Direction, seen: Seen | None) -> dict[str, Any]:
    if seen is None:
        return {}
    return {
        f"{direction}_side": seen.side,
        f"{direction}_size": hundredths(seen.size),
        f"{direction}_grid": hundredths(seen.grid),
        f"{direction}_lost": seen.lost,
    }


def aim_row(aim: Aim) -> dict[str, Any]:
    return {
        "aim_carry": hundredths(aim.carry),
        "aim_width": hundredths(aim.width),
        "aim_depth": hundredths(aim.depth),
        "aim_length": hundredths(aim.length),
        "aim_lie": aim.lie,
    }


def standing(kinds: Sequence[Kind]) -> dict[str, Any]:
    stands = Standing.of(kinds)
    return {
        "counted": sum(stands.counts),
        "voided": sum(stands.voids),
        "undone": kinds.count(Kind.UNDO),
    }


def rank(score: int | None, finished: bool, better: Better, decider: bool) -> int | None:
    """A run's place among records: less is better, null for one that can't be a record."""
    if score is None or not finished or decider:
        return None
    return score if better == "lower" else -score


class Played(Protocol):
    """What is asked of a run that was played: a `Run`, or what was worked out as one."""

    @property
    def game(self) -> AnyGame: ...
    @property
    def counted(self) -> int: ...
    @property
    def voided(self) -> int: ...
    @property
    def undone(self) -> int: ...
    @property
    def over(self) -> bool: ...
    @property
    def finished(self) -> bool: ...
    @property
    def ended(self) -> str | None: ...
    @property
    def score(self) -> Score: ...


def follows(run: Played, decider: bool) -> Summary:
    """What follows from a run's entries. Raises whatever its game does."""
    score, finished = hundredths(run.score), run.finished
    return {
        "counted": run.counted,
        "voided": run.voided,
        "undone": run.undone,
        "score": score,
        "rank": rank(score, finished, run.game.better, decider),
        "finished": finished,
        "ended": (run.ended or "over") if run.over else None,
        "broken": None,
    }


def broken_summary(kinds: Sequence[Kind], broken: BrokenGame) -> Summary:
    """What is known of a run whose game raised: how the entries stand, and no score."""
    return {
        **standing(kinds),
        "score": None,
        "rank": None,
        "finished": False,
        "ended": BROKEN,
        "broken": str(broken),
    }


def broken_game(error: Exception, drill: Drill, begun: bool = True) -> BrokenGame:
    """The error to show, with the innermost line of the game's own file that raised it."""
    file = file_of(drill.game_class) or drill.source
    line = place(error, file)
    said = " ".join(str(error).split())
    return BrokenGame(file, line, f"{type(error).__name__}{': ' if said else ''}{said}", begun)
