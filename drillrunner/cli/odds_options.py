"""What `chance`, `tune` and `pattern` share: whose pattern, and what there is to beat."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
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
from drillrunner.rules.station import HOLING
from drillrunner.rules.units import convert, text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.odds.chance import Patterns
    from drillrunner.odds.desk import Bag
    from drillrunner.odds.weigh import PatternsAt
    from drillrunner.rules.run import Ball
    from drillrunner.rules.score import Score
    from drillrunner.rules.shot import Direction
    from drillrunner.rules.station import Ask
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
    add_player(parser, "whose pattern (else the owner's, else a starting guess)")
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
    parser.add_argument(
        "--pattern",
        metavar="CLUB[:SWING]=BIAS,SPREAD[,DEPTH_BIAS,DEPTH_SPREAD]",
        action="append",
        default=[],
        help="a known pattern, in yards; one for each club and swing that the drill asks for",
    )
    add_json(parser)


@dataclass(frozen=True)
class Question:
    """A drill in the player's unit, what there is to beat, and the patterns to answer it with.

    named: what there is to beat, in words.
    patterns: for the drill as it may be set, after these balls, newest last. typical: the player's
    typical score, if there is one.
    """

    drill: Drill
    beat: Decimal
    named: str
    patterns: Callable[[Drill, Sequence[Ball]], PatternsAt]
    typical: Callable[[], Score] = lambda: None


@contextmanager
def question(args: argparse.Namespace) -> Iterator[Question]:
    """What the arguments ask. Raises Wrong, BadDrill, StoreError."""
    beat = None if args.beat is None else decimal("--beat", args.beat)
    asked = drill(catalogue(args), args)
    if any(getattr(args, name) is not None for name in KNOWN) or args.pattern:
        asked = _read_on(asked, args.grid)
        known = _known(args, asked)
        if beat is None:
            with stored(args) as (store, whose):
                beat = _best(store, whose, asked)
        yield Question(asked, beat, _named(args, beat), lambda _drill, _balls: known)
        return
    from drillrunner.odds.desk import bag_of

    with stored(args) as (store, whose):
        if whose is not None:
            asked = _resolved(store, whose, asked)
        asked = _read_on(asked, args.grid)
        bag = bag_of(store, whose)
        beat = _best(store, whose, asked) if beat is None else beat
        yield Question(
            asked,
            beat,
            _named(args, beat),
            lambda turned, balls: _after(bag, turned, balls),
            lambda: _typical(store, whose, asked),
        )


def _typical(store: Store | None, whose: PlayerInfo | None, asked: Drill) -> Score:
    from drillrunner.services.typical import typical_score

    if store is None or whose is None:
        return None
    return typical_score(store, whose.id, asked.fingerprint)


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
    """The database, if there is one, and the player meant: named, or the owner."""
    store = existing_store(args)
    try:
        whose = player(store, args.player)
        if whose is None and store is not None:
            whose = store.owner()
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


def _after(bag: Bag, turned: Drill, balls: Sequence[Ball]) -> Bag:
    """The pictures after these balls, followed one by one as the screen does: the same figure."""
    from drillrunner.odds.weigh import asks_of

    for ask in asks_of(turned.game()):
        bag.at(ask)
    for ball in balls:
        bag = bag.after(ball)
    return bag


def _known(args: argparse.Namespace, asked: Drill) -> PatternsAt:
    """The patterns that are known, not learnt. Raises Wrong."""
    from drillrunner.odds.weigh import asks_of, needed

    if args.player is not None:
        raise Wrong("--player and --bias: expected a player's pattern or a known one, not both")
    asks = asks_of(asked.game())
    if any(ask.asks in HOLING for ask in asks):
        raise Wrong(f"--bias: {asked.id} asks for strokes, which follow from no such pattern")
    swings = dict.fromkeys((ask.club, ask.swing) for ask in asks)
    values = {name: getattr(args, name) for name in KNOWN[:4]}
    given = [_option(name) for name in KNOWN[:4] if values[name] is not None]
    if args.pattern and given:
        raise Wrong(f"--pattern and {given[0]}: expected one or the other")
    if args.pattern:
        return _known_by_club(args, asked, asks)
    if len(swings) > 1:
        named = ", ".join(":".join(swing) for swing in swings)
        raise Wrong(f"--bias: {asked.id} asks for several: expected --pattern for each of {named}")
    both = any(len(needed(ask)) == 2 for ask in asks)
    wanted = KNOWN[:4] if both else KNOWN[:2]
    missing = [_option(name) for name in wanted if values[name] is None]
    if missing:
        why = "judges both directions" if both else "has one pattern"
        raise Wrong(f"{', '.join(missing)} missing: {asked.id} {why}, and all of it must be given")
    extra = [_option(name) for name in KNOWN[2:4] if not both and values[name] is not None]
    if extra:
        raise Wrong(f"{', '.join(extra)}: {asked.id} judges one direction, --bias is for that one")
    numbers = [float(decimal(_option(name), values[name])) for name in wanted]
    return _patterns(args, needed(asks[0]), numbers)


class _ByClub:
    """Known patterns, each with its club and swing; `None` is any swing of that club."""

    def __init__(self, known: Mapping[tuple[str, str | None], Patterns]) -> None:
        self._known = known

    def at(self, ask: Ask) -> Patterns:
        """The pattern of what is asked."""
        exact = self._known.get((ask.club, ask.swing))
        return exact or self._known[ask.club, None]


def _known_by_club(args: argparse.Namespace, asked: Drill, asks: Sequence[Ask]) -> _ByClub:
    from drillrunner.odds.weigh import needed

    typed: dict[tuple[str, str | None], list[float]] = {}
    for said in args.pattern:
        named, equals, numbers = said.partition("=")
        club, _, swing = (part.strip() for part in named.partition(":"))
        parts = numbers.split(",")
        if not equals or not club or len(parts) not in (2, 4):
            form = "CLUB=BIAS,SPREAD or CLUB:SWING=BIAS,SPREAD,DEPTH_BIAS,DEPTH_SPREAD"
            raise Wrong(f"--pattern {said.strip()!r}: expected {form}, with decimal points")
        typed[club, swing or None] = [float(decimal("--pattern", part)) for part in parts]
    known: dict[tuple[str, str | None], Patterns] = {}
    for ask in asks:
        key = next((k for k in ((ask.club, ask.swing), (ask.club, None)) if k in typed), None)
        if key is None:
            raise Wrong(f"--pattern missing for {ask.club}:{ask.swing}, which {asked.id} asks for")
        numbers, wanted = typed[key], needed(ask)
        if len(numbers) != 2 * len(wanted):
            many = "four numbers" if len(wanted) == 2 else "two numbers"
            judged = " and ".join(wanted)
            raise Wrong(f"--pattern {ask.club}: expected {many}, as {asked.id} judges {judged}")
        known[key] = _patterns(args, wanted, numbers)
    for club, swing in typed.keys() - known.keys():
        said = club if swing is None else f"{club}:{swing}"
        raise Wrong(f"--pattern {said}: {asked.id} asks for no ball with it")
    return _ByClub(known)


def _patterns(
    args: argparse.Namespace, wanted: Sequence[Direction], numbers: Sequence[float]
) -> Patterns:
    from drillrunner.odds.chance import Patterns
    from drillrunner.odds.shape import Plausible

    try:
        parts = [
            Plausible.known(bias, spread, args.likelihood or "t4")
            for bias, spread in zip(numbers[::2], numbers[1::2], strict=True)
        ]
    except ValueError as error:
        raise Wrong(str(error)) from None
    given = dict(zip(wanted, parts, strict=True))
    return Patterns(given.get("lateral"), given.get("depth"))


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _read_on(asked: Drill, grid: str | None) -> Drill:
    """The drill read on another step, to the nearest hundredth of its unit."""
    if grid is None:
        return asked
    step = decimal("--grid", grid)
    if all(station.asks == "verdict" for station in asked.stations):
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


def chance_typed(text: str) -> float:
    """`--chance` as people say it: 0.5, 50 and 50 % are one. Raises Wrong."""
    typed = text.strip()
    said = typed.removesuffix("%")
    wanted = decimal("--chance", said)
    if said != typed or wanted > 1:
        wanted /= 100
    if not 0 <= wanted <= 1:
        raise Wrong(f"--chance {typed}: expected a number from 0 to 1, or from 1 to 100 for %")
    return float(wanted)
