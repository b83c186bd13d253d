"""`drillrunner chance`: how likely a run beats a score from here."""

from __future__ import annotations

import argparse

from drillrunner.cli.layout import labelled, put_json
from drillrunner.cli.odds_options import add_odds, question
from drillrunner.cli.options import FINE
from drillrunner.cli.score import fold_tally
from drillrunner.cli.terminal import put
from drillrunner.rules.score import Score
from drillrunner.rules.units import text


def arguments(parser: argparse.ArgumentParser) -> None:
    add_odds(parser)
    parser.add_argument(
        "entries", metavar="ENTRY", nargs="*", help="what was played so far, as for `score`"
    )


def run(args: argparse.Namespace) -> int:
    """Work out the chance. Raises Wrong, BadDrill, NeedsStock, StoreError."""
    from drillrunner.odds.chance import Chance, chance
    from drillrunner.odds.counsel import within_reach
    from drillrunner.odds.words import surely
    from drillrunner.rules import beats

    with question(args) as asked:
        tally, _ = fold_tally(asked.drill, args.entries)
        game, named = tally.game, asked.named

        def found_for(beat: Score) -> Chance:
            if tally.over:
                won = tally.finished and beats(game.better, tally.score, beat)
                return Chance(float(won), True, 1, 0.0)
            return chance(game, tally.state, asked.patterns(asked.drill, tally.balls), beat)

        found, typical = found_for(asked.beat), asked.typical()
        near = within_reach(found.chance, asked.beat, typical, game.better)
        beside = found_for(typical) if near else None
    if args.json:
        put_json(
            {
                "chance": found.chance,
                "exact": found.exact,
                "states": found.states,
                "error": found.error,
                "low": found.sure and found.sure.low,
                "high": found.sure and found.sure.high,
                "typical": typical if near else None,
                "typical_chance": beside and beside.chance,
            }
        )
        return FINE
    lines = {f"chance to beat {named}": surely(found.chance, found.sure)}
    if beside is not None:
        label = f"to beat the typical score, {text(typical or 0)}"
        lines[label] = surely(beside.chance, beside.sure)
    if not found.exact:
        lines["an estimate, error"] = f"{max(found.error * 100, 0.1):.1f} points"
    put(labelled({**lines, "states walked" if found.exact else "states met": found.states}))
    return FINE
