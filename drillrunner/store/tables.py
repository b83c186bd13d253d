"""The tables. Distances and scores are whole hundredths; times are UTC text with an offset beside.

`number` is the order of insertion, which is the only order that anything relies on; `id` is a UUID
that stays the same in an export. Entries are never changed; only `forget` takes any away.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
)
from sqlalchemy import text as sql

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


def number() -> Column[int]:
    """The order of insertion."""
    return Column("number", Integer, primary_key=True)


def whole(name: str, to: str | None = None, **more: Any) -> Column[int]:
    """A whole number; `to` is the column of another table that it names."""
    return Column(name, Integer, *([ForeignKey(to)] if to else []), **{"nullable": False, **more})


def large(name: str) -> Column[int]:
    """A whole number that may be beyond 32 bits, or missing."""
    return Column(name, BigInteger, nullable=True)


def text(name: str, to: str | None = None, **more: Any) -> Column[str]:
    """A text; `to` is the column of another table that it names."""
    return Column(name, String, *([ForeignKey(to)] if to else []), **{"nullable": False, **more})


def flag(name: str, **more: Any) -> Column[bool]:
    """True or false."""
    return Column(name, Boolean, **{"nullable": False, **more})


def only(name: str, *columns: str, where: str, **more: Any) -> Index:
    """An index of the rows for which something holds."""
    return Index(name, *columns, sqlite_where=sql(where), postgresql_where=sql(where), **more)


OR_NULL: dict[str, Any] = {"nullable": True}

player = Table(
    "player",
    metadata,
    number(),
    text("id", unique=True),
    text("name"),
    text("key", unique=True),
    text("unit"),
    text("hand", **OR_NULL),
    text("column", **OR_NULL),
    flag("hidden"),
    whole("pace", **OR_NULL),
    text("at"),
    whole("at_offset"),
)
"""A person. `key` is what makes two names the same."""

handicap = Table(
    "handicap",
    metadata,
    number(),
    whole("player", "player.number", index=True),
    whole("value", **OR_NULL),
    text("at"),
    whole("at_offset"),
)
"""A handicap index from a day on; the newest row is in force, null for none."""

club = Table(
    "club",
    metadata,
    whole("player", "player.number", primary_key=True),
    text("id", primary_key=True),
    text("label"),
    whole("position"),
    large("usual_carry"),
    text("unit"),
    flag("retired"),
)
"""A player's club; its carry is in the unit that it was typed in."""

visit = Table(
    "visit",
    metadata,
    number(),
    text("id", unique=True),
    whole("player", "player.number"),
    text("day"),
    text("place", **OR_NULL),
    text("surface", **OR_NULL),
    text("ball", **OR_NULL),
    text("wind", **OR_NULL),
    text("note", **OR_NULL),
    Index(None, "player", "day"),
)
"""One player's day at the range, made by the day's first run or session."""

session = Table(
    "session",
    metadata,
    number(),
    text("id", unique=True),
    whole("player", "player.number", index=True),
    text("visit_id", "visit.id", **OR_NULL),
    text("plan"),
    text("started"),
    whole("started_offset"),
    text("ended_at", **OR_NULL),
    whole("ended_offset", **OR_NULL),
)
"""A timed visit. What happened in it is in its events."""

event = Table(
    "session_event",
    metadata,
    number(),
    whole("session", "session.number"),
    whole("seq"),
    text("at"),
    whole("at_offset"),
    text("kind"),
    text("data"),
    UniqueConstraint("session", "seq"),
)
"""One thing that happened in a session; never changed."""

stock = Table(
    "stock_carry",
    metadata,
    number(),
    whole("player", "player.number"),
    text("club"),
    text("swing"),
    whole("carry"),
    whole("low"),
    whole("high"),
    whole("spread"),
    text("unit"),
    text("at"),
    whole("at_offset"),
    text("session_id", "session.id", **OR_NULL),
    text("data"),
    Index(None, "player", "club", "swing", "number"),
)
"""A stock carry as it was found; the newest of a club and swing is in force."""

match = Table(
    "match",
    metadata,
    number(),
    text("id", unique=True),
    text("drill"),
    text("data"),
    text("started"),
    whole("started_offset"),
    text("ended_at", **OR_NULL),
    whole("ended_offset", **OR_NULL),
)
"""Several players' runs of one drill."""

seat = Table(
    "match_player",
    metadata,
    whole("match", "match.number", primary_key=True),
    whole("player", "player.number", primary_key=True),
    whole("place"),
    text("data"),
    UniqueConstraint("match", "place"),
)
"""One player's place in a match."""

drill_as_set = Table(
    "drill_as_set",
    metadata,
    number(),
    text("digest", unique=True),
    text("drill"),
    text("title"),
    text("fingerprint", index=True),
    text("setting"),
    text("as_set"),
    text("game"),
    text("game_hash"),
    text("better"),
    text("asks"),
    text("direction"),
    large("lost_counts"),
    text("club"),
    text("swing"),
    text("unit"),
)
"""A drill as it was set, once however many runs were played of it; never changed.

`digest` names the row by all that it holds; `fingerprint` leaves out what makes no difference to a
record.
"""

run = Table(
    "run",
    metadata,
    number(),
    text("id", unique=True),
    whole("player", "player.number"),
    text("drill"),
    text("fingerprint"),
    whole("drill_as_set", "drill_as_set.number"),
    flag("tally"),
    text("started"),
    whole("started_offset"),
    whole("counted"),
    whole("voided"),
    whole("undone"),
    large("score"),
    large("rank"),
    flag("finished"),
    text("ended", **OR_NULL),
    text("ended_at", **OR_NULL),
    whole("ended_offset", **OR_NULL),
    whole("ended_by", **OR_NULL),
    text("broken", **OR_NULL),
    text("visit_id", "visit.id", **OR_NULL),
    text("session_id", "session.id", **OR_NULL),
    text("block", **OR_NULL),
    text("match_id", "match.id", **OR_NULL),
    flag("decider"),
    Index("ix_run_of_player", "player", "number"),
    Index("ix_run_of_drill", "drill", "number"),
    Index("ix_run_of_player_and_drill", "player", "drill", "number"),
    Index("ix_run_of_player_and_setting", "player", "fingerprint", "number"),
    Index("ix_run_of_setting", "fingerprint", "number"),
    only("ix_run_best", "player", "fingerprint", "rank", "ended_by", where="rank IS NOT NULL"),
    only("ix_run_open", "player", "drill", where="ended IS NULL AND NOT decider", unique=True),
    only("ix_run_of_match", "match_id", where="match_id IS NOT NULL"),
    only("ix_run_of_session", "session_id", where="session_id IS NOT NULL"),
)
"""One player's playing of one drill. What follows from the entries is written with them.

`rank` is the score turned so that less is better, and null for a run that can't be a record;
`ended_by` is the entry that ended it, so that of equal scores the earlier keeps the best.
"""

entry = Table(
    "entry",
    metadata,
    number(),
    whole("run", "run.number"),
    whole("seq"),
    text("at"),
    whole("at_offset"),
    text("kind"),
    text("text"),
    whole("player", "player.number"),
    text("club", **OR_NULL),
    text("swing", **OR_NULL),
    whole("aim_carry", **OR_NULL),
    whole("aim_width", **OR_NULL),
    whole("aim_depth", **OR_NULL),
    whole("lateral_side", **OR_NULL),
    whole("lateral_size", **OR_NULL),
    whole("lateral_grid", **OR_NULL),
    flag("lateral_lost", **OR_NULL),
    whole("depth_side", **OR_NULL),
    whole("depth_size", **OR_NULL),
    whole("depth_grid", **OR_NULL),
    flag("depth_lost", **OR_NULL),
    whole("carry", **OR_NULL),
    whole("carry_grid", **OR_NULL),
    flag("out", **OR_NULL),
    whole("match_order", **OR_NULL),
    UniqueConstraint("run", "seq"),
    only("ix_entry_shots", "player", "club", "swing", "number", where="kind = 'shot'"),
)
"""One thing typed; never changed. Of a shot, how it was read and what was in force.

A direction of which nothing was seen has its `lost` null.
"""
