"""`drillrunner report`: one page to send to a coach, as a single HTML file."""

from __future__ import annotations

import argparse
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.cli.layout import setting_words
from drillrunner.cli.lines import expect_new, put_lines
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_player,
    catalogue,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import say
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.practice.looking_back.report.parts import Covered, Report
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

LAST = "last"


def arguments(parser: argparse.ArgumentParser) -> None:
    only = parser.add_mutually_exclusive_group()
    only.add_argument(
        "--session",
        metavar="ID",
        type=text_argument,
        help="only this session; `last` is the latest",
    )
    only.add_argument(
        "--since", metavar="DATE", type=text_argument, help="from this day on, as 2025-04-01"
    )
    add_player(parser, "whose practice (else the owner's)")
    parser.add_argument(
        "--out", metavar="FILE", required=True, type=Path, help="a new file; - is stdout"
    )


def run(args: argparse.Namespace) -> int:
    """Write the page. Raises Wrong, StoreError."""
    since = None if args.since is None else _day(args.since)
    expect_new(args.out)
    store = existing_store(args)
    if store is None:
        say("drillrunner: no database yet, so there is nothing to tell")
        return NOTHING
    with store:
        whose, span = _asked(store, args, since)
        from drillrunner.services.report import gather

        report = gather(store, whose, span, datetime.now().astimezone(), catalogue(args))
        if report.empty:
            say(f"drillrunner: {whose.name} played nothing in these days: no page is written")
            return NOTHING
        from drillrunner.practice.looking_back.report.page import page

        html = page(report, setting_words)
    put_lines(args.out, [html], f"{whose.name}, {_held(report)}")
    return FINE


def _held(report: Report) -> str:
    """What the page holds, in short."""
    runs = sum(len(drill.fresh) for drill in report.drills)
    counts = {
        "day": len(report.days),
        "session": len(report.sessions),
        "drill": len(report.drills),
        "finished run": runs,
        "ball": sum(day.balls for day in report.days),
    }
    return ", ".join(f"{numbered(n, name)}" for name, n in counts.items() if n)


def _day(typed: str) -> datetime:
    try:
        return datetime.combine(date.fromisoformat(typed.strip()), time()).astimezone()
    except (ValueError, OverflowError):
        raise Wrong(f"--since {typed!r}: expected a day, as 2025-04-01") from None


def _asked(
    store: Store, args: argparse.Namespace, since: datetime | None
) -> tuple[PlayerInfo, Covered]:
    """Whose page it is, and what it covers. Raises Wrong, StoreError."""
    from drillrunner.practice.looking_back.report.parts import Covered

    whose = player(store, args.player)
    if args.session is not None:
        infos = (
            store.sessions(None if whose is None else whose.id)
            if args.session == LAST
            else (store.session(args.session),)
        )
        info = next((one for one in infos if one.events), None)
        if info is None:
            raise Wrong("no session yet: leave --session out for all that was played")
        if whose is not None and info.player_id != whose.id:
            raise Wrong(f"--session {args.session}: it is {info.player}'s, not {whose.name}'s")
        return store.player_of(info.player_id), Covered(session=info)
    if whose is None and (whose := store.owner()) is None:
        raise Wrong("nobody has played yet: there is nothing to report")
    return whose, Covered(since=since)
