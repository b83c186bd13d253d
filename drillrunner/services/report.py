"""The page for a coach, gathered from the store and the odds."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, get_args

from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.carries import stock
from drillrunner.practice.carries.lay_up import lay_up, lay_up_words
from drillrunner.practice.looking_back.progress import (
    BALL_EVENTS,
    balls_of_days,
    points,
    trend_line,
    weeks,
)
from drillrunner.practice.looking_back.report.parts import (
    MOST_NEXT,
    Covered,
    Day,
    DrillPart,
    PatternPart,
    Report,
)
from drillrunner.practice.rounds.played import PlayedRound, PlayerRounds
from drillrunner.practice.sessions.session import routine_of
from drillrunner.practice.sessions.summary import Summary
from drillrunner.rules.run import Kind
from drillrunner.rules.shot import NearLie
from drillrunner.rules.station import HOLING
from drillrunner.services.ledger import look_back as session_summary
from drillrunner.services.rounds import player_rounds
from drillrunner.services.what_next import next_things
from drillrunner.store.shapes import PlayerInfo, StoredRun, VisitInfo
from drillrunner.store.store import Store

if TYPE_CHECKING:
    from drillrunner.odds.green.portrait import GreenSide

NEWEST = 1000
"""Runs of a drill as set that its chart shows."""

NOTED = 200
"""Of so many of the latest runs of a drill as set the notes are told."""


def gather(
    store: Store,
    player: PlayerInfo,
    span: Covered,
    now: datetime,
    catalogue: Catalogue,
) -> Report:
    """Everything for the page. now: the time, with its zone. Raises StoreError.

    catalogue: of the drills that what is next may name.
    """
    clubs = {club.id: club.label for club in store.clubs(player.id)}
    golf = player_rounds(store, player)
    sessions = tuple(_sessions(store, player, span))
    by_day = _by_day(store, player, span, sessions)
    drills = tuple(_drills(store, player, span))
    patterns = tuple(_patterns(store, player, drills, clubs))
    stocks = stock.table(store.stock_carries(player.id), now, player.unit)
    return Report(
        player=player,
        made=now,
        span=span,
        clubs=clubs,
        days=tuple(_days(store.visits(player.id), by_day)),
        weeks=weeks(by_day, max(by_day, default=now.date())),
        sessions=sessions,
        drills=drills,
        patterns=patterns,
        greens=tuple(_greens(store, player)),
        stocks=stocks,
        strategy=lay_up_words(lay_up(stocks)),
        rounds=tuple(_rounds(golf, span)),
        index=golf.record.index,
        look_at=tuple(
            thing.line for thing in next_things(store, player, catalogue, now)[:MOST_NEXT]
        ),
    )


def _rounds(golf: PlayerRounds, span: Covered) -> Iterator[PlayedRound]:
    """Rounds of the span that are finished and in the record; none of one session alone."""
    since = date.min if span.since is None else span.since.date()
    for one in golf.rounds if span.session is None else ():
        if one.card.finished and not one.card.out and one.info.day >= since:
            yield one


def _by_day(
    store: Store, player: PlayerInfo, span: Covered, sessions: Sequence[Summary]
) -> dict[date, int]:
    """Balls by day; of one session its own alone, whatever else was hit on that day."""
    if span.session is not None:
        return {one.started.date(): one.balls for one in sessions if one.balls}
    found = balls_of_days(store.days(player.id), store.events_by_day(BALL_EVENTS, player.id))
    since = date.min if span.since is None else span.since.date()
    return {day: balls for day, balls in found.items() if day >= since}


def _days(visits: Sequence[VisitInfo], by_day: Mapping[date, int]) -> Iterator[Day]:
    """Days with balls, newest first."""
    about = {date.fromisoformat(visit.day): visit for visit in visits}
    for day, balls in sorted(by_day.items(), reverse=True):
        visit = about.get(day)
        noted = (
            ()
            if visit is None
            else (visit.place, _bay(visit), visit.surface, visit.ball, visit.wind, visit.note)
        )
        yield Day(day, balls, ", ".join(filter(None, noted)))


def _bay(visit: VisitInfo) -> str:
    return "" if visit.bay is None else f"bay {visit.bay}"


def _sessions(store: Store, player: PlayerInfo, span: Covered) -> Iterator[Summary]:
    """Newest first; a session that never got under way is none."""
    routine = routine_of(player.pace)
    infos = store.sessions(player.id) if span.session is None else (span.session,)
    for info in infos:
        within = span.session is not None or span.since is None or info.started >= span.since
        if info.events and within:
            yield session_summary(store, info, routine, changes=span.session is not None)


def _drills(store: Store, player: PlayerInfo, span: Covered) -> Iterator[DrillPart]:
    """Every drill as set that was played in the span, the latest played first."""
    if span.session is None:
        settings = store.settings(None, player.id, since=span.since)
    else:
        settings = store.history(None, player.id, session_id=span.session.id)
    for fingerprint in dict.fromkeys(run.fingerprint for run in settings):
        runs = store.history(None, player.id, NEWEST, fingerprint=fingerprint)
        fresh = [run for run in runs if span.covers(run)]
        yield _drill(store, runs, fresh)


def _drill(store: Store, runs: Sequence[StoredRun], fresh: Sequence[StoredRun]) -> DrillPart:
    from drillrunner.odds.luck import best_by_luck, judged

    newest, found = fresh[0], points(runs)
    ids = {run.run for run in fresh}
    before = points([run for run in runs if run.run not in ids])
    scores = [point.run.score for point in found]
    days = [point.run.started.date() for point in found]
    luck = judged(scores, newest.better, days=days)
    return DrillPart(
        title=newest.title,
        setting=_whole(newest),
        better=newest.better,
        points=found,
        fresh=tuple(point for point in found if point.run.run in ids),
        begun=len(fresh),
        before=before[-1].best if before else None,
        luck=luck,
        by_luck=best_by_luck(scores, newest.better),
        trend=() if luck.trend is None else trend_line(scores, luck.trend.slope),
        notes=tuple(_notes(store, fresh[:NOTED])),
    )


def _whole(run: StoredRun) -> dict[str, Any]:
    """A drill as it was set, with the settings that were left as they usually are."""
    settings = json.loads(run.as_set)["settings"].items()
    return {**run.setting, "settings": {k: value for k, value in settings if value is not None}}


def _notes(store: Store, runs: Iterable[StoredRun]) -> Iterator[tuple[datetime, str]]:
    for run in runs:
        for entry in store.entries(run.run):
            if entry.kind is Kind.NOTE and entry.live:
                yield entry.at, entry.text


def _patterns(
    store: Store, player: PlayerInfo, drills: Sequence[DrillPart], clubs: Mapping[str, str]
) -> Iterator[PatternPart]:
    """The picture of today of every club and swing that was hit at the bay, clubs in order."""
    from drillrunner.odds.desk import picture_of
    from drillrunner.odds.portrait import side_of

    order = list(clubs)
    played = [p.run for drill in drills for p in drill.fresh]
    swings = {pair for run in played if run.asks not in HOLING for pair in run.swings}
    for club, swing in sorted(
        swings, key=lambda pair: (order.index(pair[0]) if pair[0] in order else len(order), pair)
    ):
        picture = picture_of(store, player, club, swing, unit=player.unit)
        for direction in ("lateral", "depth"):
            if picture.of(direction).shots:
                yield PatternPart(club, swing, side_of(picture, direction, player.unit))
        calls = picture_of(store, player, club, swing, unit=player.unit, calls=True)
        if calls.depth.shots:
            yield PatternPart(club, swing, side_of(calls, "depth", player.unit))


def _greens(store: Store, player: PlayerInfo) -> Iterator[GreenSide]:
    """How the player holes out from every lie that was played from."""
    from drillrunner.odds.green.stored import green_of

    for lie in get_args(NearLie):
        # The curves of a lie that nobody played from are dear, and shown nowhere.
        if store.recent_strokes(player.id, lie, 1) and (side := green_of(store, player, lie)).shots:
            yield side
