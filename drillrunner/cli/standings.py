"""`drillrunner standings`: the matches of a season, summed up."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import FINE, NOTHING, add_json, day_argument, existing_store
from drillrunner.cli.terminal import put

if TYPE_CHECKING:
    from drillrunner.practice.matches.standings import Standings


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--since", metavar="DATE", type=day_argument, help="matches from this day on"
    )
    parser.add_argument(
        "--until", metavar="DATE", type=day_argument, help="matches up to and on this day"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the standings. Raises StoreError."""
    from drillrunner.practice.matches.standings import standings
    from drillrunner.services.standings import decided

    store = existing_store(args)
    matches = () if store is None else decided(store)
    found = standings(matches, args.since, args.until)
    if args.json:
        put_json(document(found) if found.matches else [])
    elif found.matches:
        put("\n".join(lines(found)))
    else:
        put("no matches decided yet" if args.since is None is args.until else "no matches then")
    return FINE if found.matches else NOTHING


def lines(found: Standings) -> list[str]:
    """The standings as plain text."""
    heads = ("player", "played", "won", "shared", "wins running")
    rows = [(r.player, r.total.played, r.total.won, r.total.shared, r.run) for r in found.rows]
    said = [table(heads, rows), ""]
    heads = ("drill", "player", "played", "won", "shared")
    by_drill = [
        (found.titles[drill], row.player, tally.played, tally.won, tally.shared)
        for drill in found.titles
        for row in found.rows
        if (tally := row.drills.get(drill)) is not None
    ]
    said += [table(heads, by_drill), ""]
    heads = ("head to head", "", "won", "lost", "level")
    pairs = [(pair.one, pair.other, pair.won, pair.lost, pair.level) for pair in found.pairs]
    return [*said, table(heads, pairs)]


def document(found: Standings) -> dict[str, Any]:
    """The standings as JSON has them."""
    return {
        "matches": found.matches,
        "players": [
            {
                "player": row.player,
                "played": row.total.played,
                "won": row.total.won,
                "shared": row.total.shared,
                "run": row.run,
                "drills": row.drills,
            }
            for row in found.rows
        ],
        "head_to_head": found.pairs,
    }
