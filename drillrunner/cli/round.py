"""`drillrunner round`: a round on a course, typed in the app or brought from a file."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.cli.app import open_app
from drillrunner.cli.confirm import confirmed
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    WRONG,
    Wrong,
    add_player,
    day_argument,
    open_store,
    text_argument,
)
from drillrunner.cli.terminal import put, quiet, say
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.catalogue.courses import Course
    from drillrunner.practice.carries.columns import Sheet
    from drillrunner.practice.rounds.played import PlayedRound
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store


def arguments(parser: argparse.ArgumentParser) -> None:
    what = "its id, as its file has it; none with --scores"
    parser.add_argument("course", metavar="COURSE", nargs="?", type=text_argument, help=what)
    parser.add_argument(
        "--tee", metavar="NAME", type=text_argument, help="the tees (else the first on the card)"
    )
    parser.add_argument(
        "--date", metavar="DAY", type=day_argument, help="when, as 2026-05-01 (else today)"
    )
    add_player(parser, "whose; a new name is created (else the owner of the records)")
    parser.add_argument(
        "--card", metavar="FILE", type=Path, help="a CSV with one row a hole, without a screen"
    )
    parser.add_argument(
        "--putts-in", choices=("ft", "m"), default="ft", help="the first putts of a card"
    )
    parser.add_argument(
        "--scores", metavar="FILE", type=Path, help="a CSV of scores alone, one row a round"
    )
    parser.add_argument(
        "--pcc", metavar="N", type=int, help="playing conditions of that day, -1 to 3"
    )
    parser.add_argument(
        "--differential",
        metavar="N",
        type=text_argument,
        help="as the club shows it; kept as typed",
    )
    parser.add_argument(
        "--order", metavar="N", type=int, help="which round of that day, the lower first"
    )
    parser.add_argument(
        "--yes", action="store_true", help="keep a round of the same day, course and tee as another"
    )


def run(args: argparse.Namespace) -> int:
    """Open the round, or keep what a file holds. Raises Wrong, StoreError."""
    if args.scores is not None:
        if args.course is not None or args.card is not None:
            raise Wrong("--scores: expected no COURSE and no --card beside it")
        return _scores(args)
    if args.course is None:
        raise Wrong("COURSE: expected the id of a course, or --scores FILE")
    from drillrunner.practice.rounds.days import not_yet

    course = course_of(args.course)
    try:
        args.tee = course.tee(args.tee).name
    except LookupError as error:
        raise Wrong(str(error)) from None
    if args.date is not None and (why := not_yet(args.date, date.today())):
        raise Wrong(f"--date: {why}")
    if args.card is not None:
        return _card(args, course)
    from drillrunner.app.doors import RoundSetup

    # What is typed from now on is for the app.
    with quiet():
        return open_app(args, first=RoundSetup(course.id, args.tee, args.date))


def course_of(id: str) -> Course:
    """The course of an id. Raises Wrong."""
    from drillrunner.catalogue.courses import load_courses

    try:
        return load_courses().course(id)
    except LookupError as error:
        raise Wrong(str(error)) from None


def sheet_of(path: Path) -> Sheet:
    """The rows of a CSV file. Raises Wrong."""
    from drillrunner.practice.carries.columns import BadSheet, sheet

    try:
        return sheet(path.read_bytes())
    except OSError as error:
        raise Wrong(f"{path}: {error.strerror or error}") from None
    except BadSheet as error:
        raise Wrong(f"{path}: {error}") from None


def refused(path: Path, faults: Sequence[str]) -> int:
    """Name each fault of a file; nothing of it was kept."""
    for fault in faults:
        say(f"drillrunner: {path}: {fault}")
    return WRONG


def _card(args: argparse.Namespace, course: Course) -> int:
    from drillrunner.practice.rounds.card_file import BadCard, read_card
    from drillrunner.practice.rounds.handicap import PCC
    from drillrunner.services.rounds import card_round, player_rounds

    if args.pcc is not None and not PCC[0] <= args.pcc <= PCC[1]:
        raise Wrong(f"--pcc: expected {PCC[0]} to {PCC[1]}, not {args.pcc}")
    try:
        holes = read_card(sheet_of(args.card), course, args.putts_in == "m")
    except BadCard as error:
        return refused(args.card, error.faults)
    day = args.date or date.today()
    new = card_round(course, args.tee, day, holes, args.pcc, _shown(args.differential), args.order)
    with open_store(args) as store:
        player = whose(store, args.player)
        before = player_rounds(store, player) if player is not None else None
        if before is not None and before.like(day, course.id, args.tee):
            question = (
                f"A round of {day} on {course.title}, {args.tee}, is here already: keep this one "
                "as another?"
            )
            if not confirmed(args, question):
                return NOTHING
        player = player or store.add_player(args.player)
        id = store.rounds.add(player.id, new)[0].id
        kept = next(one for one in player_rounds(store, player).rounds if one.info.id == id)
    put(_said(kept, course))
    return FINE


def _said(kept: PlayedRound, course: Course) -> str:
    from drillrunner.practice.rounds.words import comes_to

    return f"{course.title}, {kept.info.tee}, {kept.info.day}: {comes_to(kept)}"


def _shown(said: str | None) -> Decimal | None:
    from drillrunner.practice.rounds.score_file import differential_typed

    try:
        return differential_typed(said or "")
    except ValueError as error:
        raise Wrong(f"--differential: {error}") from None


def whose(store: Store, name: str | None) -> PlayerInfo | None:
    """The player of that name, `None` if it is a new one; the owner unless named. Raises Wrong."""
    if name is not None:
        return store.player(name)
    owner = store.owner()
    if owner is None:
        raise Wrong("whose round is this? --player NAME says so")
    return owner


def _scores(args: argparse.Namespace) -> int:
    from drillrunner.practice.rounds.card_file import BadCard
    from drillrunner.practice.rounds.score_file import read_scores
    from drillrunner.services.rounds import doubles, list_rounds, player_rounds

    try:
        rows = read_scores(sheet_of(args.scores), date.today())
    except BadCard as error:
        return refused(args.scores, error.faults)
    if not rows:
        say("no score is in it")
        return NOTHING
    with open_store(args) as store:
        player = whose(store, args.player)
        known = player_rounds(store, player).rounds if player is not None else ()
        twice = doubles(rows, known)
        if twice:
            days = ", ".join(dict.fromkeys(str(row.day) for row in twice[:3]))
            more = " and more" if len(twice) > 3 else ""
            question = (
                f"{numbered(len(twice), 'score')} of a day, course and tee that there is one of "
                f"already ({days}{more}): keep them as others?"
            )
            if not confirmed(args, question):
                return NOTHING
        player = player or store.add_player(args.player)
        store.rounds.add(player.id, *list_rounds(rows))
        found = player_rounds(store, player)
    put(f"{numbered(len(rows), 'score')} kept")
    if found.waiting is not None:
        put(f"nine holes of {found.waiting.info.day} wait for nine others")
    return FINE
