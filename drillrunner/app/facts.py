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


def is_new(database: str) -> bool:
    """Whether nobody has played yet, as far as that shows without opening anything."""
    return not is_url(database) and not Path(database).exists()


def first(database: str, name: str | None) -> HomeFacts:
    """What the first screen tells, of the player of that name or of the owner.

    Nothing for a database that can't be looked into.
    """
    return NOTHING if is_url(database) else quick.home(database, name) or NOTHING
