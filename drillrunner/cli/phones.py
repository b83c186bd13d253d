"""`drillrunner phones`: the phones that may come in; one that is lost is signed out."""

from __future__ import annotations

import argparse
from datetime import datetime

from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_json,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import ask, interactive, put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--sign-out",
        metavar="PHONE",
        type=text_argument,
        help="the name of a phone as it is listed, or all: it has to come in anew",
    )
    parser.add_argument(
        "--pin-of", metavar="NAME", type=text_argument, help="ask for a new PIN of this player's"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """List the phones, or act on one. Raises Wrong, StoreError."""
    if args.pin_of is not None:
        return _set_pin(args)
    store = existing_store(args)
    every = () if store is None else store.phones.all()
    if store is not None and args.sign_out is not None:
        named = [one for one in every if args.sign_out in ("all", one.name)]
        if not named:
            known = ", ".join(one.name for one in every)
            raise Wrong(f"no phone {args.sign_out!r}: known are {known or 'none'}")
        for one in named:
            store.phones.sign_out(one.hash)
        put("signed out: " + ", ".join(one.name for one in named))
        return FINE
    names = {} if store is None else {p.id: p.name for p in store.players(hidden=True)}
    rows = [(one, names.get(one.player or "", "")) for one in every]
    if args.json:
        put_json(
            [
                {
                    "phone": one.name,
                    "player": name,
                    "about": one.about,
                    "bay": one.bay,
                    "seen": _time(one.seen),
                }
                for one, name in rows
            ]
        )
    else:
        heads = ("phone", "player", "what", "bay", "seen")
        cells = [
            (one.name, name or "nobody yet", one.about, one.bay or "", _time(one.seen))
            for one, name in rows
        ]
        put(table(heads, cells) if cells else "no phone came in yet")
    return FINE if rows else NOTHING


def _set_pin(args: argparse.Namespace) -> int:
    from drillrunner.serve.pins import bad_pin, hashed

    store = existing_store(args)
    found = player(store, args.pin_of)
    assert store is not None
    assert found is not None
    pin = ask(f"New PIN of {found.name} (6 digits or more; empty for none): ", True).strip()
    if pin and (why := bad_pin(pin)):
        raise Wrong(why)
    # Nobody saw what was typed.
    if pin and interactive() and ask("The same once more: ", True).strip() != pin:
        raise Wrong(f"that is another PIN: {found.name}'s stays as it was")
    store.phones.set_pin(found.id, hashed(pin) if pin else None)
    put(f"{found.name} has a new PIN" if pin else f"{found.name} has no PIN")
    return FINE


def _time(seconds: int) -> str:
    return datetime.fromtimestamp(seconds).astimezone().isoformat(timespec="minutes")
