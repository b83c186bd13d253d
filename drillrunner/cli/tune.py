"""`drillrunner tune`: the setting of a drill's dial that fits a player."""

from __future__ import annotations

import argparse

from drillrunner.cli.layout import labelled, put_json
from drillrunner.cli.odds_options import add_odds, chance_typed, question
from drillrunner.cli.options import FINE, Wrong
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    add_odds(parser)
    parser.add_argument(
        "--chance", metavar="P", required=True, help="the chance wanted: 0.5, or 50 for 50 %%"
    )


def run(args: argparse.Namespace) -> int:
    """Turn the dial. Raises Wrong, BadDrill, NeedsStock, StoreError."""
    from drillrunner.odds.tune import NoDial, tune
    from drillrunner.odds.words import surely

    wanted = chance_typed(args.chance)
    with question(args) as asked:
        try:
            found = tune(asked.drill, lambda drill: asked.patterns(drill, ()), asked.beat, wanted)
        except NoDial as error:
            raise Wrong(str(error)) from None
    if args.json:
        sure = found.chance.sure
        put_json(
            {
                "dial": found.dial,
                "value": found.value,
                "chance": found.chance.chance,
                "low": sure and sure.low,
                "high": sure and sure.high,
            }
        )
    else:
        label = f"chance to beat {asked.named}"
        put(
            labelled(
                {found.dial: found.value, label: surely(found.chance.chance, found.chance.sure)}
            )
        )
    return FINE
