"""`drillrunner session`: open the timed session, list the plans, or show what a session came to."""

from __future__ import annotations

import argparse
from datetime import datetime
from typing import TYPE_CHECKING

from drillrunner.cli.layout import labelled, put_json, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_json,
    add_player,
    catalogue,
    database,
    existing_store,
    player,
    plugin_folders,
)
from drillrunner.cli.terminal import put, say

if TYPE_CHECKING:
    from drillrunner.catalogue.plans import Plan, Plans
    from drillrunner.practice.sessions.plan import Wanted
    from drillrunner.practice.sessions.session import Limits
    from drillrunner.practice.sessions.summary import Summary
    from drillrunner.store.shapes import SessionInfo
    from drillrunner.store.store import Store

LAST = "last"
RECENT = 10
"""Sessions looked through for the latest that got under way."""


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--minutes", metavar="N", type=int, help="the plan's, else 30")
    parser.add_argument("--balls", metavar="N", type=int, help="the plan's, else 50")
    parser.add_argument("--plan", metavar="ID", help="a plan; else one is put together for you")
    add_player(parser, "who practises; a new name is created")
    parser.add_argument(
        "--chance",
        metavar="P",
        default="0.5",
        help="chance that a drill which does not fit is turned to (0.5, or 50 for 50 %%)",
    )
    parser.add_argument(
        "--plan-only",
        action="store_true",
        help="print the plan that would be put together; nothing is kept",
    )
    parser.add_argument("--plans", action="store_true", help="list the plans")
    parser.add_argument("--show", metavar="ID", help="what a session came to; `last` is the latest")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Open, list or show. Raises Wrong, StoreError."""
    if args.show is not None:
        return _show(args)
    plans = _plans(args)
    if args.plans:
        return _list(args, plans)
    if args.json and not args.plan_only:
        raise Wrong("--json: expected --plan-only, --show or --plans beside it")
    from drillrunner.cli.odds_options import chance_typed
    from drillrunner.practice.sessions.plan import Wanted, limits_for

    args.chance = chance_typed(args.chance)
    if not 0.0 < args.chance < 1.0:
        raise Wrong(f"--chance: expected a number between 0 and 1, not {args.chance:g}")
    try:
        plan = None if args.plan is None else plans.plan(args.plan)
        limits = limits_for(plan, args.minutes, args.balls)
    except (LookupError, ValueError) as error:
        raise Wrong(str(error)) from None
    if args.plan_only:
        return _plan_only(args, plan, limits)
    return open_session(args, Wanted(limits, args.plan, args.chance))


def _plan_only(args: argparse.Namespace, plan: Plan | None, limits: Limits) -> int:
    """Print a plan; an unknown name is a newcomer."""
    from drillrunner.services.planning import planned

    found = plan
    if found is None:
        store = existing_store(args)
        whose = None if store is None else store.owner()
        if args.player is not None:
            whose = None if store is None else store.player(args.player)
        found = planned(
            store, whose, catalogue(args), limits, datetime.now().astimezone(), args.chance
        )
    if args.json:
        put_json(
            {
                "minutes": found.minutes,
                "balls": found.balls,
                "blocks": [
                    {
                        "kind": block.kind,
                        "title": block.title,
                        "club": block.club,
                        "minutes": block.minutes,
                        "balls": block.balls,
                        "drill": block.drill,
                        "set": list(block.set),
                        "chance": block.chance,
                        "why": block.why,
                        "serves": block.serves,
                    }
                    for block in found.blocks
                ],
            }
        )
        return FINE
    put("\n".join(plan_lines(found)))
    return FINE


def plan_lines(plan: Plan) -> list[str]:
    """A plan as plain text: each block, why it is there and what its value is made of."""
    from drillrunner.odds.words import share
    from drillrunner.practice.sessions.refit import balls, minutes

    lines = []
    for block in plan.blocks:
        chance = "" if block.chance is None else f", {share(block.chance)}"
        head = f"{minutes(block.minutes)}, {balls(block.balls)}: {block.title}{chance}"
        lines += [
            head,
            *(
                f"  {said}"
                for said in (block.why, block.thought, *block.set, block.worth, block.note)
                if said
            ),
        ]
    lines += ["", f"together {minutes(plan.minutes)}, {balls(plan.balls)}"]
    return lines + (plan.note.splitlines() if plan.note else [])


def open_session(args: argparse.Namespace, wanted: Wanted) -> int:
    """Open the app on a session, until it is left. Raises Wrong."""
    from drillrunner.cli.app import need_terminal

    need_terminal()
    from drillrunner.app.app import DrillrunnerApp

    app = DrillrunnerApp(
        database=database(args),
        folders=plugin_folders(args),
        player=args.player,
        session=wanted,
    )
    app.run()
    return app.return_code or FINE


def _plans(args: argparse.Namespace) -> Plans:
    from drillrunner.catalogue.clubs import CLUBS
    from drillrunner.catalogue.plans import load_plans

    return load_plans(plugin_folders(args), catalogue(args), CLUBS)


def _list(args: argparse.Namespace, plans: Plans) -> int:
    for problem in plans.problems:
        say(f"drillrunner: {problem}")
    if args.json:
        put_json(
            [
                {
                    "id": plan.id,
                    "title": plan.title,
                    "minutes": plan.minutes,
                    "balls": plan.balls,
                    "source": plan.source,
                }
                for plan in plans.plans
            ]
        )
    elif plans.plans:
        rows = [(plan.id, plan.minutes, plan.balls, plan.title) for plan in plans.plans]
        put(table(("plan", "minutes", "balls", "title"), rows))
    else:
        put("no plans")
    return FINE if plans.plans else NOTHING


def _show(args: argparse.Namespace) -> int:
    store = existing_store(args)
    whose = player(store, args.player)
    info = None if store is None else _found(store, args.show, whose.id if whose else None)
    if store is None or info is None:
        if args.show != LAST:
            raise Wrong(
                f"no session {args.show!r}: `drillrunner session --show last` is the latest"
            )
        if args.json:
            put_json([])
        else:
            put("no sessions yet")
        return NOTHING
    from drillrunner.practice.sessions.session import routine_of
    from drillrunner.services.ledger import faults_of, look_back

    routine = routine_of(store.player_of(info.player_id).pace)
    for fault in faults_of(info):
        say(fault)
    summary = look_back(store, info, routine, changes=not args.json)
    if args.json:
        put_json(summary.document())
    else:
        put("\n".join(lines_of(summary, info.player)))
    return FINE


def _found(store: Store, id: str, player_id: str | None) -> SessionInfo | None:
    """The session of that id, or the latest that got under way. Raises StoreError."""
    found = store.sessions(player_id, limit=RECENT) if id == LAST else (store.session(id),)
    return next((info for info in found if info.events), None)


def lines_of(summary: Summary, player: str) -> list[str]:
    """A summary as plain text, a line each."""
    from drillrunner.practice.sessions.refit import clock

    heads: dict[str, object] = {
        "session": summary.session,
        "player": player,
        "started": f"{summary.started:%Y-%m-%d %H:%M}",
        "ended": summary.ended or "open",
        "minutes": f"{summary.minutes:.0f} of {summary.planned_minutes}",
        "balls": f"{summary.balls} of {summary.planned_balls}",
    }
    if summary.away >= 1:
        heads["pauses"] = clock(summary.away)
    if summary.pace is not None:
        heads["pace"] = f"{summary.pace:.0f} seconds a ball"
    rows = [
        (
            block.title,
            block.standing,
            f"{block.minutes:.0f} of {block.planned_minutes}",
            f"{block.balls} of {block.planned_balls}",
        )
        for block in summary.blocks
    ]
    lines = [labelled(heads), "", table(("block", "", "minutes", "balls"), rows)]
    for title, more in (
        ("games", list(summary.games)),
        ("patterns", [change.said for change in summary.changes]),
        ("next time", list(summary.next_time)),
    ):
        if more:
            lines += ["", title, *(f"  {line}" for line in more)]
    return lines
