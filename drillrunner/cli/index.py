"""`drillrunner index`: the handicap index, and what the next rounds can do to it."""

from __future__ import annotations

import argparse
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import labelled, put_json, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_json,
    add_player,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.round import course_of, refused, sheet_of
from drillrunner.cli.terminal import put, say
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.practice.rounds.index import Record

ROUNDS, MOST_ROUNDS = 10, 200


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "whose (else the owner's)")
    parser.add_argument(
        "--goal", metavar="INDEX", type=text_argument, help="the index wanted (else the own goal)"
    )
    parser.add_argument(
        "--rounds",
        metavar="N",
        type=int,
        default=ROUNDS,
        help=f"the chance within 1 to N rounds (else {ROUNDS})",
    )
    parser.add_argument(
        "--scores", metavar="FILE", type=Path, help="a CSV of scores; no database is read"
    )
    parser.add_argument(
        "--course", metavar="ID", type=text_argument, help="say the highest gross on it as well"
    )
    parser.add_argument("--tee", metavar="NAME", type=text_argument, help="the tees of --course")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Work the index out. Raises Wrong, StoreError."""
    from drillrunner.practice.rounds.card_file import BadCard
    from drillrunner.practice.rounds.words import NOT_THE_CLUBS
    from drillrunner.services import association
    from drillrunner.services.index_page import index_page

    if not 1 <= args.rounds <= MOST_ROUNDS:
        raise Wrong(f"--rounds: expected 1 to {MOST_ROUNDS}, not {args.rounds}")
    if args.tee is not None and args.course is None:
        raise Wrong(f"--tee {args.tee}: expected --course beside it, whose tees they are")
    goal = None if args.goal is None else index_argument("--goal", args.goal)
    typed: Decimal | None = None
    waits = ""
    chosen, wrong = association.load()
    if wrong is not None:
        say(f"drillrunner: {wrong}; what is usual is taken")
    if args.scores is not None:
        from drillrunner.practice.rounds.score_file import read_scores, record_of

        try:
            record, half = record_of(read_scores(sheet_of(args.scores)), chosen)
        except BadCard as error:
            return refused(args.scores, error.faults)
        waits = "" if half is None else f"nine holes of {half.day} wait for nine others"
    else:
        record, typed, own, waits = _own(args)
        goal = own if goal is None else goal
    page = index_page(record, goal, args.rounds, date.today())
    gross = _gross(args, record, goal)
    if args.json:
        put_json(
            {
                "index": page.index,
                "low": page.low,
                "scores": [
                    {
                        "date": one.day.isoformat(),
                        "differential": one.differential,
                        "counts": one.counts,
                        "drops": one.drops,
                    }
                    for one in page.scores
                ],
                "needed": page.needed,
                "chance": list(page.chance),
                **gross,
            }
        )
        return FINE if page.scores else NOTHING
    facts: dict[str, Any] = {
        "index": f"{numbered(chosen.fewest, 'score')} make one"
        if page.index is None
        else page.index,
        "low index": page.low,
    }
    if typed is not None and page.index is None:
        facts["typed"] = typed
    if goal is not None:
        facts["goal"] = goal
        facts["highest differential that reaches it next"] = page.needed
        facts |= {f"highest gross on {args.course}": value for value in gross.values()}
        facts |= {
            f"chance within {at} round{'s' * (at > 1)}": page.within(at)
            for at in dict.fromkeys((1, min(5, args.rounds), args.rounds))
            if at <= len(page.chance)
        }
    put(labelled({name: value for name, value in facts.items() if value is not None}))
    if page.scores:
        rows = [
            (one.day, one.differential, "counts" * one.counts, "drops out next" * one.drops)
            for one in page.scores
        ]
        put("\n" + table(("date", "differential", "", ""), rows))
    if waits:
        put(f"\n{waits}")
    put(f"\n{NOT_THE_CLUBS}")
    return FINE if page.scores else NOTHING


def index_argument(name: str, said: str) -> Decimal:
    """An index as typed; a plus index, typed with its sign, has a minus here. Raises Wrong."""
    from drillrunner.rules.units import NUMBER
    from drillrunner.store.people import HIGHEST_INDEX, LOWEST_INDEX

    value = Decimal(said.replace(",", ".")) if NUMBER.fullmatch(said) else None
    if value is not None and said.startswith("+"):
        value = -value
    if value is None or not LOWEST_INDEX <= value <= HIGHEST_INDEX:
        raise Wrong(
            f"{name}: expected an index from {LOWEST_INDEX} to {HIGHEST_INDEX}, not {said!r:.40}"
        )
    return value


def _own(args: argparse.Namespace) -> tuple[Record, Decimal | None, Decimal | None, str]:
    """The record of a player here, the typed index, the goal, and nine holes that wait."""
    from drillrunner.practice.rounds.index import Record
    from drillrunner.services.rounds import player_rounds

    store = existing_store(args)
    whose = player(store, args.player) or (store.owner() if store is not None else None)
    if store is None or whose is None:
        return Record(), None, None, ""
    found = player_rounds(store, whose)
    goal = next((one.value for one in store.intents.goals(whose.id) if one.kind == "index"), None)
    waiting = found.waiting
    waits = "" if waiting is None else f"nine holes of {waiting.info.day} wait for nine others"
    return found.record, found.typed, goal, waits


def _gross(args: argparse.Namespace, record: Record, goal: Decimal | None) -> dict[str, Any]:
    """The highest gross from a tee that reaches the goal, where a course is named."""
    from drillrunner.services.index_page import highest_gross

    if args.course is None:
        return {}
    course = course_of(args.course)
    try:
        tee = course.tee(args.tee)
    except LookupError as error:
        raise Wrong(str(error)) from None
    found = None if goal is None else highest_gross(record, goal, course, tee, date.today())
    return {"gross": found}
