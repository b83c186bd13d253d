"""What the home screen tells, read without waiting: from the file itself, else from the store."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.store import quick
from drillrunner.store.quick import HomeFacts
from drillrunner.store.shapes import OpenSession

if TYPE_CHECKING:
    from decimal import Decimal

    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

NOTHING = HomeFacts((), None, {}, {}, ())
"""What is known before anything is."""
RECENT = 500
"""Runs of a database elsewhere that are looked at for the last scores."""


def is_url(database: str) -> bool:
    """Whether a database is named by a URL, so that it is no file to be looked into."""
    return "://" in database


def is_new(database: str) -> bool:
    """Whether nobody has played yet, as far as that shows without opening anything."""
    return not is_url(database) and not Path(database).exists()


def first(database: str) -> HomeFacts:
    """What the first screen tells; nothing for a database that can't be looked into."""
    return NOTHING if is_url(database) else quick.home(database) or NOTHING


def read(database: str, store: Store) -> HomeFacts:
    """What the home screen tells once the records are open."""
    return (None if is_url(database) else quick.home(database)) or _asked(store)


def _asked(store: Store) -> HomeFacts:
    runs = store.history(limit=RECENT)
    scores: dict[tuple[str, str], list[Decimal | None]] = defaultdict(list)
    for run in runs:
        if run.finished and len(scores[run.player_id, run.fingerprint]) < quick.LAST:
            scores[run.player_id, run.fingerprint].append(run.score)
    return HomeFacts(
        store.players(hidden=True),
        runs[0].player_id if runs else None,
        {(best.player_id, best.fingerprint): best for best in store.bests()},
        {key: tuple(last) for key, last in scores.items()},
        store.open_runs(),
        tuple(
            OpenSession.of(info.id, info.player_id, info.plan, info.events[-1].at)
            for info in store.open_sessions()
            if info.events
        ),
    )


def who(facts: HomeFacts, name: str | None) -> PlayerInfo | None:
    """The player of now: the one of that name, else who played last, else the first in the list."""
    if name is not None:
        same = name.strip().casefold()
        return next((one for one in facts.players if one.name.casefold() == same), None)
    shown = [player for player in facts.players if not player.hidden]
    last = next((player for player in shown if player.id == facts.last_player), None)
    return last or next(iter(shown), None)
