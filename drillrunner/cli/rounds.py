"""`drillrunner rounds`: the rounds of a player, newest first."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import FINE, NOTHING, add_json, add_player, existing_store, player
from drillrunner.cli.terminal import put

if TYPE_CHECKING:
    from drillrunner.practice.rounds.played import PlayedRound


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "whose (else the owner's)")
    parser.add_argument("--all", action="store_true", help="those that were taken out as well")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """List rounds. Raises Wrong, StoreError."""
    from drillrunner.practice.rounds.words import in_the_record
    from drillrunner.services.rounds import player_rounds

    store = existing_store(args)
    whose = player(store, args.player) or (store.owner() if store is not None else None)
    known = () if store is None or whose is None else player_rounds(store, whose).rounds
    rounds = [one for one in reversed(known) if args.all or not one.card.out]
    if args.json:
        put_json([round_document(one) for one in rounds])
    elif rounds:
        heads = ("date", "course", "tee", "holes", "score", "differential", "form", "")
        rows = [(*list(round_document(one).values())[1:], in_the_record(one)) for one in rounds]
        put(table(heads, [_by_day(row) for row in rows]))
    else:
        put("no rounds yet")
    return FINE if rounds else NOTHING


def _by_day(row: tuple[Any, ...]) -> tuple[Any, ...]:
    course, tee, day, *rest, counts = row
    # What the differential says already is not said again.
    return (day, course, tee, *rest, "" if counts.startswith("differential") else counts)


def round_document(one: PlayedRound) -> dict[str, Any]:
    """One round as JSON has it."""
    return {
        "round": one.info.id,
        "course": one.info.course,
        "tee": one.info.tee,
        "date": one.info.day.isoformat(),
        "holes": one.count,
        "score": one.gross,
        "differential": one.differential,
        "form": one.form,
    }
