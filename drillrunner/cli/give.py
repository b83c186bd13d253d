"""`drillrunner give`: give what was typed under another name to the player whose it was."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, NamedTuple

from drillrunner.cli.layout import table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import put

if TYPE_CHECKING:
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

KINDS = ("run", "session", "round", "seat")
LAST = "last"


class Found(NamedTuple):
    """Something that can be given: its id, what it is in words, and the name of who has it."""

    id: str
    words: str
    whose: str


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "kind", metavar="KIND", nargs="?", choices=KINDS, help=f"what is given: {', '.join(KINDS)}"
    )
    parser.add_argument(
        "id",
        metavar="ID",
        nargs="?",
        type=text_argument,
        default=LAST,
        help="its id, or the match's for a seat; `last`, which it is without, is the latest",
    )
    parser.add_argument("--to", metavar="NAME", type=text_argument, help="whose it was")
    parser.add_argument(
        "--from",
        metavar="NAME",
        dest="giver",
        type=text_argument,
        help="who has it now: for a seat, or to find the latest of",
    )


def run(args: argparse.Namespace) -> int:
    """Give it, or list what was given. Raises Wrong, StoreError."""
    store = existing_store(args)
    if args.kind is None:
        return _list(store)
    if args.to is None:
        raise Wrong("--to: expected the name of the player whose it was")
    giver, taker = player(store, args.giver), player(store, args.to)
    if args.kind == "seat" and giver is None:
        raise Wrong("--from: expected the name of who has the seat now")
    found = None if store is None else _find(store, args.kind, args.id, giver)
    if store is None or taker is None or found is None:
        of = "" if args.giver is None else f" of {args.giver}"
        which = f"{args.kind}{of} yet" if args.id == LAST else f"{args.kind} {args.id}{of}"
        raise Wrong(f"no {which}")
    if giver is not None and found.whose != giver.name:
        raise Wrong(f"{found.words} is {found.whose}'s, not {giver.name}'s")
    if found.whose == taker.name:
        put(f"{found.words} is {taker.name}'s already")
        return NOTHING
    with store:
        if args.kind == "seat":
            assert giver is not None
            store.give_seat(found.id, giver.id, taker.id)
        else:
            give = {
                "run": store.give_run,
                "session": store.give_session,
                "round": store.give_round,
            }
            give[args.kind](found.id, taker.id)
    put(f"{found.words} is {taker.name}'s now, and was {found.whose}'s; records follow")
    return FINE


def _list(store: Store | None) -> int:
    """What was given so far, oldest first."""
    given = () if store is None else store.givings()
    if not given:
        put("nothing was given to another player yet")
        return NOTHING
    rows = [(f"{one.at:%Y-%m-%d %H:%M}", one.kind, one.giver, one.taker, one.what) for one in given]
    put(table(("given", "what", "from", "to", "id"), rows))
    return FINE


def _find(store: Store, kind: str, id: str, giver: PlayerInfo | None) -> Found | None:
    """What is meant; `None` if it is not there."""
    last, whose = id == LAST, None if giver is None else giver.id
    if kind == "run":
        latest = next(iter(store.history(player_id=whose, limit=1)), None)
        run = latest if last else store.run(id)
        if run is None:
            return None
        return Found(run.run, f"the run of {run.title} of {run.started:%Y-%m-%d %H:%M}", run.player)
    if kind == "session":
        sessions = store.sessions(whose, limit=1) if last else (store.session(id),)
        found = [
            Found(one.id, f"the session of {one.started:%Y-%m-%d %H:%M}", one.player)
            for one in sessions
        ]
        return found[0] if found else None
    if kind == "round":
        of = giver or store.owner()
        mine = () if of is None else store.rounds.of(of.id)
        rounds = mine[-1:] if last else (store.rounds.round(id),)
        found = [Found(one.id, f"the round of {one.day}", one.player) for one in rounds]
        return found[0] if found else None
    for match in store.matches() if last else (store.match(id),):
        if any(seat.player_id == whose for seat in match.players):
            assert giver is not None
            title = match.data.get("title", match.drill)
            return Found(
                match.id,
                f"the seat in the match of {title} of {match.started:%Y-%m-%d}",
                giver.name,
            )
    return None
