"""What `chance`, `tune` and `pattern` share: whose pattern, and what there is to beat."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, partial
from typing import TYPE_CHECKING

from drillrunner.cli.options import (
    Wrong,
    add_drill,
    add_json,
    add_player,
    catalogue,
    drill,
    existing_store,
    player,
)
from drillrunner.cli.terminal import say
from drillrunner.rules.shot import Aim, Shot
from drillrunner.rules.units import Unit, convert, text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.odds.chance import Patterns
    from drillrunner.odds.desk import Picture
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

NUMBER = re.compile(r"[+-]?([0-9]{1,9}([.,][0-9]{0,20})?|[.,][0-9]{1,20})([eE][+-]?0?[0-9])?")
"""A number as people and programs write it, of a size that can be squared."""

KNOWN = ("bias", "spread", "depth_bias", "depth_spread", "likelihood")


def add_odds(parser: argparse.ArgumentParser) -> None:
    """A drill, what there is to beat, and whose pattern."""
    add_drill(parser)
    parser.add_argument(
        "--beat", metavar="SCORE", help="the score, else the best; beaten is strictly better"
    )
    add_player(parser, "whose pattern (else the only player's, else a starting guess)")
    parser.add_argument("--bias", metavar="B", help="yards; with --spread the pattern is known")
    parser.add_argument("--spread", metavar="S", help="yards, the scale of the likelihood")
    parser.add_argument("--depth-bias", metavar="B", help="where both directions are judged")
    parser.add_argument("--depth-spread", metavar="S", help="where both directions are judged")
    parser.add_argument("--likelihood", choices=("t4", "t2", "normal"), help="t4 unless said")
    parser.add_argument(
        "--grid",
        metavar="YARDS",
        help="the step on which numbers are read (else the drill's: 5 for misses, 1 for carries)",
    )
    add_json(parser)


@dataclass(frozen=True)
class Question:
    """A drill in the player's unit, what there is to beat, and the patterns to answer it with.

    named: what there is to beat, in words.
    patterns: for the drill as it may be set, after these balls, newest last.
    """

    drill: Drill
    beat: Decimal
    named: str
    patterns: Callable[[Drill, Sequence[Shot]], Patterns]


@contextmanager
def question(args: argparse.Namespace) -> Iterator[Question]:
    """What the arguments ask. Raises Wrong, BadDrill, StoreError."""
    beat = None if args.beat is None else decimal("--beat", args.beat)
    asked = drill(catalogue(args), args)
    if any(getattr(args, name) is not None for name in KNOWN):
        asked = _read_on(asked, args.grid)
        known = _known(args, asked)
        if beat is None:
            with stored(args) as (store, whose):
                beat = _best(store, whose, asked)
        yield Question(asked, beat, _named(args, beat), lambda _drill, _shots: known)
        return
    with stored(args) as (store, whose):
        if whose is not None:
            asked = _resolved(store, whose, asked)
        asked = _read_on(asked, args.grid)
        before = cache(partial(_picture, store, whose, asked.club, asked.swing, asked.unit))
        beat = _best(store, whose, asked) if beat is None else beat
        yield Question(
            asked, beat, _named(args, beat), lambda turned, shots: _of(before, turned, shots)
        )


def _best(store: Store | None, whose: PlayerInfo | None, asked: Drill) -> Decimal:
    """The player's best on the drill as it is set. Raises Wrong where there is none."""
    missing = "--beat missing: expected a score to beat"
    if store is None or whose is None:
        raise Wrong(f"{missing}, or --player NAME for that player's best")
    found = store.best(whose.id, asked.fingerprint)
    if found is None or found.score is None:
        raise Wrong(f"{missing}: {whose.name} has no best on {asked.id} as it is set")
    return Decimal(found.score)


def _named(args: argparse.Namespace, beat: Decimal) -> str:
    return f"the best, {text(beat)}" if args.beat is None else str(args.beat.strip())


@contextmanager
def stored(args: argparse.Namespace) -> Iterator[tuple[Store | None, PlayerInfo | None]]:
    """The database, if there is one, and the player meant: named, or the only one."""
    store = existing_store(args)
    try:
        whose = player(store, args.player)
        if whose is None and store is not None and len(everyone := store.players()) == 1:
            (whose,) = everyone
        yield store, whose
    finally:
        if store is not None:
            store.close()


def _resolved(store: Store | None, whose: PlayerInfo, asked: Drill) -> Drill:
    """The drill as the player plays it. Raises BadDrill, NeedsStock."""
    from drillrunner.practice.carries.stock import in_force
    from drillrunner.practice.sessions.plan import as_played

    return as_played(
        asked, whose.unit, in_force(() if store is None else store.stock_carries(whose.id))
    )


@dataclass(frozen=True)
class _Ball:
    """A ball typed on the command line, as the odds read one."""

    shot: Shot
    aim: Aim
    unit: Unit
    lost_counts: Decimal | None


def _picture(
    store: Store | None,
    whose: PlayerInfo | None,
    club: str,
    swing: str,
    unit: Unit,
    carry: Decimal | None,
) -> Picture:
    from drillrunner.odds.desk import picture_of, stranger

    aim = Aim(carry=carry)
    if store is None or whose is None:
        return stranger(club, aim, unit)
    return picture_of(store, whose, club, swing, aim, unit)


def _of(
    before: Callable[[Decimal | None], Picture], turned: Drill, shots: Sequence[Shot]
) -> Patterns:
    """The patterns after these balls, followed one by one as the screen does: the same figure."""
    picture, game = before(turned.aim.carry), turned.game()
    picture.patterns(game)
    for shot in shots:
        picture = picture.after(_Ball(shot, turned.aim, turned.unit, game.lost_counts))
    return picture.patterns(game)


def _known(args: argparse.Namespace, asked: Drill) -> Patterns:
    from drillrunner.odds.chance import Patterns, directions
    from drillrunner.odds.shape import Plausible

    if args.player is not None:
        raise Wrong("--player and --bias: expected a player's pattern or a known one, not both")
    values = {name: getattr(args, name) for name in KNOWN[:4]}
    both = directions(asked.game().outcomes()) == ("lateral", "depth")
    needed = KNOWN[:4] if both else KNOWN[:2]
    missing = [_option(name) for name in needed if values[name] is None]
    if missing:
        why = "judges both directions" if both else "has one pattern"
        raise Wrong(f"{', '.join(missing)} missing: {asked.id} {why}, and all of it must be given")
    extra = [_option(name) for name in KNOWN[2:4] if not both and values[name] is not None]
    if extra:
        raise Wrong(f"{', '.join(extra)}: {asked.id} judges one direction, --bias is for that one")
    numbers = [float(decimal(_option(name), values[name])) for name in needed]
    try:
        parts = [
            Plausible.known(bias, spread, args.likelihood or "t4")
            for bias, spread in zip(numbers[::2], numbers[1::2], strict=True)
        ]
    except ValueError as error:
        raise Wrong(str(error)) from None
    wanted = directions(asked.game().outcomes())
    return Patterns(**dict(zip(wanted, parts, strict=True)))


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _read_on(asked: Drill, grid: str | None) -> Drill:
    """The drill read on another step, to the nearest hundredth of its unit."""
    if grid is None:
        return asked
    step = decimal("--grid", grid)
    if asked.game_class.asks == "verdict":
        say(f"drillrunner: {asked.id} asks in or out and reads no number: --grid changes nothing")
        return asked
    read = round(convert(step, "yd", asked.unit), 2)
    if read <= 0:
        raise Wrong(f"--grid {grid.strip()}: expected at least a hundredth")
    return asked.with_set([f"grid={text(read)}"])


def decimal(option: str, typed: str) -> Decimal:
    """A number as typed. Raises Wrong."""
    if NUMBER.fullmatch(typed.strip()):
        return Decimal(typed.strip().replace(",", "."))
    raise Wrong(f"{option} {typed.strip()!r}: expected a number")
