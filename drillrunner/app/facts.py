"""What the home screen tells, read without waiting from the file itself."""

from __future__ import annotations

from pathlib import Path

from drillrunner.store import quick
from drillrunner.store.quick import HomeFacts

NOTHING = HomeFacts(None, None, {}, {}, ())
"""What is known before anything is."""


def is_url(database: str) -> bool:
    """Whether a database is named by a URL, so that it is no file to be looked into."""
    return "://" in database


def nobody_yet(database: str, known: HomeFacts) -> bool:
    """Whether nobody has played yet, as far as that shows in `first`, without opening anything."""
    if known is NOTHING:
        return not is_url(database) and not Path(database).exists()
    return known.owner is None


def first(database: str, name: str | None) -> HomeFacts:
    """What the first screen tells, of the player of that name or of the owner.

    Nothing for a database that can't be looked into.
    """
    return NOTHING if is_url(database) else quick.home(database, name) or NOTHING
