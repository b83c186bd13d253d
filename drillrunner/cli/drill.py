"""`drillrunner drill`: make a drill of your own from another one, change it, or take it away."""

from __future__ import annotations

import argparse
from datetime import datetime

from drillrunner.cli.options import (
    FINE,
    Wrong,
    add_set,
    catalogue,
    existing_store,
    text_argument,
)
from drillrunner.cli.terminal import put, say


def arguments(parser: argparse.ArgumentParser) -> None:
    what = "its id: lower-case letters, digits and dashes"
    parser.add_argument("id", metavar="ID", type=text_argument, help=what)
    source = "the drill that it is made from; without it your own drill ID is changed"
    parser.add_argument("--from", dest="base", metavar="DRILL", type=text_argument, help=source)
    parser.add_argument("--title", metavar="T", type=text_argument, help="what it is called")
    add_set(parser)
    parser.add_argument("--remove", action="store_true", help="take your own drill ID away")


def run(args: argparse.Namespace) -> int:
    """Make, change or take away. Raises Wrong, BadDrill."""
    from drillrunner.catalogue import making
    from drillrunner.catalogue.loader import UnknownDrill

    found = catalogue(args)
    now = datetime.now()
    try:
        if args.remove:
            if args.base or args.title or args.set:
                raise Wrong("--remove: expected nothing beside it but the drill's ID")
            aside = making.set_aside(making.drill_file(making.own(found, args.id).id), now)
            put(f"{args.id} is taken away; its file is kept as {aside}, and its runs stay")
            return FINE
        if args.base is not None:
            making.refuse_taken(found, args.id)
            base = found.drill(args.base)
        else:
            base = making.own(found, args.id)
            if not (args.title or args.set):
                raise Wrong("nothing to change: expected --title, --set or --remove")
        drill = making.made(base, args.id, args.title, args.set)
        file = making.write(drill, now)
    except (making.NotYours, UnknownDrill) as error:
        raise Wrong(str(error)) from None
    except OSError as error:
        raise Wrong(f"{error.filename}: not written: {error.strerror}") from None
    put(f"{drill.id}: {drill.title}, written to {file}")
    if base.dial is not None and drill.dial is None:
        say("it has no setting to turn any more: the new value lies beyond where that goes")
    if args.base is None and drill.fingerprint != base.fingerprint:
        left = _left_behind(args, base.fingerprint)
        say(f"it counts as another drill from here on: {left}")
    return FINE


def _left_behind(args: argparse.Namespace, fingerprint: str) -> str:
    """What records the drill as it was leaves behind, in words."""
    store = existing_store(args)
    bests = () if store is None else store.bests()
    kept = [best for best in bests if best.fingerprint == fingerprint]
    if not kept:
        return "there was no record yet"
    said = ", ".join(f"{best.player} {best.score}" for best in kept)
    return f"the bests so far stay with it as it was ({said})"
