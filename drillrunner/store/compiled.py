"""The engine of a file; what was compiled for one file serves every other.

SQLAlchemy keeps what it compiled for each engine apart. A process that opens many files, or one
that forks apps which open their own, would compile every statement for each of them.
"""

from __future__ import annotations

from collections.abc import MutableMapping
from functools import cache
from typing import Any

from sqlalchemy import Dialect, Engine, create_engine
from sqlalchemy.engine import URL
from sqlalchemy.util import LRUCache

_MOST = 500
"""Statements that are kept as compiled: as many as SQLAlchemy keeps for one engine."""

STATEMENTS: MutableMapping[Any, Any] = LRUCache(_MOST)


def engine_of_file(url: URL, wait: float) -> Engine:
    """The connections to a file. wait: seconds for a lock."""
    engine = create_engine(
        url,
        connect_args={"timeout": wait, "isolation_level": None, "check_same_thread": False},
        execution_options={"compiled_cache": STATEMENTS},
    )
    # What is compiled holds for one dialect alone.
    engine.dialect = _dialect()
    return engine


@cache
def _dialect() -> Dialect:
    engine = create_engine("sqlite://")
    # It learns what this SQLite can do when it connects.
    engine.connect().close()
    engine.dispose()
    return engine.dialect
