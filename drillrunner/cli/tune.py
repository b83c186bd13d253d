"""`drillrunner tune`: the setting of a drill's dial that fits a player."""

from __future__ import annotations

import argparse

from drillrunner.cli.layout import facts, put_json
from drillrunner.cli.odds_options import add_odds, decimal, question
from drillrunner.cli.options import FINE, Wrong


def arguments(parser: argparse.ArgumentParser) -> None:
    add_odds(parser)
    parser.add_argument(
        "--chance", metavar="P", required=True, help="the chance wanted, from 0 to 1"
    )


def run(args: argparse.Namespace) -> int:
    """Turn the dial. Raises Wrong, BadDrill, NeedsStock, StoreError."""
    from drillrunner.odds.tune import NoDial, tune
    from drillrunner.odds.words import share

    wanted = decimal("--chance", args.chance)
    if not 0 <= wanted <= 1:
        raise Wrong(f"--chance {args.chance.strip()}: expected a number from 0 to 1")
    with question(args) as asked:
        try:
            found = tune(
                asked.drill, lambda drill: asked.patterns(drill, ()), asked.beat, float(wanted)
            )
        except NoDial as error:
            raise Wrong(str(error)) from None
    if args.json:
        put_json({"dial": found.dial, "value": found.value, "chance": found.chance.chance})
    else:
        label = f"chance to beat {args.beat.strip()}"
        print(facts({found.dial: found.value, label: share(found.chance.chance)}))
    return FINE
