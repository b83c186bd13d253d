"""`drillrunner history`: the runs played, newest first, or one run with its entries."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import labelled, put_json, setting_words, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_json,
    add_player,
    catalogue,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import put

if TYPE_CHECKING:
    from drillrunner.store.shapes import StoredEntry, StoredRun


def arguments(parser: argparse.ArgumentParser) -> None:
    what = "only runs of this drill"
    parser.add_argument("drill", metavar="DRILL", nargs="?", type=text_argument, help=what)
    parser.add_argument(
        "--run", metavar="ID", type=text_argument, help="this run, with its entries"
    )
    add_player(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """List runs. Raises Wrong, StoreError."""
    if args.run is not None:
        return _one(args)
    store = existing_store(args)
    whose = player(store, args.player)
    runs = () if store is None else store.history(args.drill, whose.id if whose else None)
    if not runs and args.drill is not None:
        _must_be_known(args)
    if args.json:
        put_json([run_document(run) for run in runs])
    elif runs:
        heads = ("started", "player", "drill", "score", "ended", "balls", "run")
        rows = [
            (
                f"{run.started:%Y-%m-%d %H:%M}",
                run.player,
                run.drill,
                run.score,
                run.stands,
                run.counted,
                run.run,
            )
            for run in runs
        ]
        put(table(heads, rows))
    else:
        put("no runs yet")
    return FINE if runs else NOTHING


def _must_be_known(args: argparse.Namespace) -> None:
    """Raise Wrong for a drill that there is not, rather than one not played yet."""
    try:
        catalogue(args).drill(args.drill)
    except KeyError as error:
        store = existing_store(args)
        if store is None or not store.history(args.drill, limit=1):
            raise Wrong(str(error)) from None


def _one(args: argparse.Namespace) -> int:
    store = existing_store(args)
    found = store.run(args.run) if store is not None else None
    if store is None or found is None:
        raise Wrong(f"no run {args.run!r}: `drillrunner history` lists them")
    entries = store.entries(found.run)
    if args.json:
        put_json([{**run_document(found), "entries": [entry_document(e) for e in entries]}])
        return FINE
    lines = {
        "player": found.player,
        "drill": found.drill,
        "as set": setting_words(found.setting),
        "started": f"{found.started:%Y-%m-%d %H:%M}",
        "score": found.score,
        "ended": found.stands,
        "counted": found.counted,
        "voided": found.voided,
        "undone": found.undone,
    }
    rows = [
        (entry.seq, f"{entry.at:%H:%M:%S}", entry.kind, entry.text, _standing(entry))
        for entry in entries
    ]
    put(f"{found.title}\n\n{labelled(lines)}\n")
    put(table(("entry", "at", "kind", "typed", ""), rows))
    return FINE


def _standing(entry: StoredEntry) -> str:
    if not entry.live:
        return "undone" if entry.kind != "undo" else ""
    return "void" if entry.void else ""


def run_document(run: StoredRun) -> dict[str, Any]:
    """One run as JSON has it."""
    return {
        "run": run.run,
        "drill": run.drill,
        "player": run.player,
        "started": run.started,
        "ended_at": run.ended_at,
        "finished": run.finished,
        "ended": run.ended,
        "score": run.score,
        "better": run.better,
        "counted": run.counted,
        "voided": run.voided,
        "undone": run.undone,
        "setting": run.setting,
    }


def entry_document(entry: StoredEntry) -> dict[str, Any]:
    """One entry as JSON has it."""
    return {
        "seq": entry.seq,
        "at": entry.at,
        "kind": entry.kind,
        "text": entry.text,
        "live": entry.live,
    }
