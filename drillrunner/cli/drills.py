"""`drillrunner drills`: what there is to play, and what is wrong with any file."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.plans import load_plans
from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import FINE, add_json, catalogue, plugin_folders
from drillrunner.cli.terminal import put, say


def arguments(parser: argparse.ArgumentParser) -> None:
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    found = catalogue(args)
    problems = [*found.problems, *load_plans(plugin_folders(args), found, CLUBS).problems]
    if args.json:
        put_json(
            {
                "drills": [
                    {
                        "id": drill.id,
                        "title": drill.title,
                        "game": drill.game_class.id,
                        "club": drill.club,
                        "asks": drill.game_class.asks,
                        "better": drill.game_class.better,
                        "source": drill.source,
                    }
                    for drill in found.drills
                ],
                "problems": [asdict(problem) for problem in problems],
            }
        )
    elif found.drills:
        ordered = sorted(
            found.drills, key=lambda drill: CLUBS[drill.club].order if drill.club in CLUBS else 99
        )
        heads = ("drill", "club", "title", "balls", "minutes")
        rows = [(d.id, d.club, d.title, d.balls, d.minutes) for d in ordered]
        put(table(heads, rows))
    else:
        put("no drills")
    for problem in problems:
        say(str(problem))
    return FINE
