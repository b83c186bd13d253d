"""Rows of home that are no drills: what was left open, and who else plays here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from textual.widgets.option_list import Option

from drillrunner.app import words
from drillrunner.app.host import Host
from drillrunner.app.widgets.lists import ListRow, heading
from drillrunner.rules.units import numbered
from drillrunner.store.shapes import LeftMatch, LeftRound

if TYPE_CHECKING:
    from drillrunner.store.shapes import MatchInfo, PlayerInfo, RoundInfo, StoredRun

DRILL_ROW, OPEN_ROW, SESSION_ROW, MATCH_ROW, ROUND_ROW = (
    "drill:",
    "open:",
    "session",
    "match:",
    "round:",
)
PLAYER_ROW = "player:"
"""How the id of a row begins, by what it is."""


def left_open(app: Host) -> list[Option]:
    """What can be gone on with: the session, runs of who plays now, matches and rounds."""
    player, facts = app.player, app.records.facts
    matches, rounds = _begun(app)
    together = {match.id for match in matches}
    rows = [
        *_session(app),
        *(
            _run(app, run)
            for run in facts.open_runs
            if player and run.player_id == player.id and run.match_id not in together
        ),
        *(_match(app, match) for match in matches),
        *map(_round, rounds),
    ]
    return [heading("go on"), *rows] if rows else []


def _begun(app: Host) -> tuple[Sequence[LeftMatch], Sequence[LeftRound]]:
    """Matches and rounds left open; until the records are open as the file itself told of them."""
    records = app.records
    if records.store is None:
        # Where nobody else is read of, the file is not asked who sits in a match.
        return () if records.own else records.facts.left_matches, records.facts.left_rounds
    matches, rounds = records.open_matches, records.open_rounds
    return [_left_match(match) for match in matches], [_left_round(one) for one in rounds]


def _left_match(match: MatchInfo) -> LeftMatch:
    names = ", ".join(seat.player for seat in match.players)
    return LeftMatch(match.id, match.data.get("title", match.drill), match.started, names)


def _left_round(one: RoundInfo) -> LeftRound:
    from drillrunner.practice.rounds.played import folded

    begun = folded(one)
    where = one.course if begun.course is None else begun.course.title
    return LeftRound(one.id, str(one.day), where or "", one.tee or "", begun.told, begun.count)


def others(app: Host, players: Sequence[PlayerInfo]) -> list[Option]:
    """The others who play here: guests, but for whose records these are."""
    owner, now = app.records.facts.owner, app.player
    rows = [
        Option(
            ListRow(one.name, "opens first" if one.id == owner else "guest"), id=PLAYER_ROW + one.id
        )
        for one in players
        if now is None or one.id != now.id
    ]
    return [heading("who else plays"), *rows] if rows else []


def _session(app: Host) -> Iterator[Option]:
    """The session that goes on, or that was left open."""
    if app.sessions.desk is not None:
        yield Option(ListRow(f"▶ {app.sessions.desk.session.plan.title}", "go on"), id=SESSION_ROW)
    elif (left := app.sessions.waiting) is not None:
        said = f"left {words.when(left.at, app.clock())}; the time since counts as a pause"
        yield Option(ListRow(f"▶ {left.title}", "go on", said), id=SESSION_ROW)


def _run(app: Host, run: StoredRun) -> Option:
    said = f"{numbered(run.counted, 'ball')} · {words.when(run.started, app.clock())}"
    return Option(ListRow(f"▶ {run.title}", "go on", said), id=OPEN_ROW + run.run)


def _match(app: Host, match: LeftMatch) -> Option:
    said = f"{match.names} · {words.when(match.started, app.clock())}"
    return Option(ListRow(f"▶ Match: {match.title}", "go on", said), id=MATCH_ROW + match.id)


def _round(one: LeftRound) -> Option:
    said = f"{one.where}, {one.tee}: {one.told} of {one.of} holes"
    return Option(ListRow(f"▶ Round of {one.day}", "go on", said), id=ROUND_ROW + one.id)
