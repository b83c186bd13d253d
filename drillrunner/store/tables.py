"""The tables. Distances and scores are whole hundredths; times are UTC text with an offset beside.

`number` is the order of insertion, which is the only order that anything relies on; `id` is a UUID
that stays the same in an export. Entries are never changed; only `forget` takes any away.
"""

from __future__ import annotations

from typing import Any, ClassVar, get_args

from sqlalchemy import Index, MetaData, Table, UniqueConstraint
from sqlmodel import BigInteger, Field, Integer, SQLModel

from drillrunner.rules.card import FORMS
from drillrunner.rules.outcome import MOST_STROKES, Asks
from drillrunner.rules.run import Kind
from drillrunner.rules.score import Better
from drillrunner.rules.scorecard import CARD_FACTS
from drillrunner.rules.shot import Direction, NearLie
from drillrunner.rules.units import Unit
from drillrunner.store.migrations import VERSIONS
from drillrunner.store.stored import LARGEST

NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
}


def holds(
    *choices: Any,
    hundredths: tuple[int, int] | None = None,
    json: bool = False,
    time: str = "",
    follows: bool = False,
    **field: Any,
) -> Any:
    """A column, and what can be in it: whoever checks, writes out or reads a value asks this.

    choices: all that it can be, `None` apart. hundredths: a number with two decimals, the least
    and the most that it can be, as stored. json: a document. time: a moment; the column of its
    offset. follows: worked out from something else, so that no export holds it. The rest goes to
    the column.
    """
    about = {
        "choices": choices,
        "hundredths": hundredths,
        "json": json,
        "time": time,
        "follows": follows,
    }
    info = {name: value for name, value in about.items() if value}
    return Field(sa_column_kwargs={"info": info}, **field)


WHERE = "where"
"""Under what an index says of which rows it is. Saying so in the words of a kind of database here
would import all drivers of that kind; `schema` does for the one that is used."""

SPAN, STEP = (0, 1000_00), (1, 1000_00)
"""A distance, and one that is more than nothing."""
ANY = (-LARGEST, LARGEST)
UNITS, SIDES = get_args(Unit), (-1, 0, 1)
GOALS = ("index", "score")


class Base(SQLModel):
    """Everything that is stored."""

    metadata: ClassVar[MetaData] = MetaData(naming_convention=NAMES)
    __table__: ClassVar[Table]


class Numbered(Base):
    """What has an order of its own and an identity that travels."""

    number: int | None = Field(default=None, primary_key=True)
    id: str = Field(unique=True)


class Player(Numbered, table=True):
    """A person. `key` is what makes two names the same."""

    __tablename__ = "player"

    name: str
    key: str = holds(follows=True, unique=True)
    unit: str = holds(*UNITS)
    hand: str | None = holds("left", "right", default=None)
    column: str | None = holds("men", "women", default=None)
    hidden: bool = False
    pace: int | None = None
    at: str = holds(time="at_offset")
    at_offset: int


class Handicap(Base, table=True):
    """A handicap index from a day on; the newest row is in force, null for none."""

    __tablename__ = "handicap"

    number: int | None = Field(default=None, primary_key=True)
    player: int = Field(foreign_key="player.number", index=True)
    value: int | None = holds(hundredths=ANY)
    at: str = holds(time="at_offset")
    at_offset: int


class Club(Base, table=True):
    """A player's club; its carry is in the unit that it was typed in."""

    __tablename__ = "club"

    player: int = Field(foreign_key="player.number", primary_key=True)
    id: str = Field(primary_key=True)
    label: str
    position: int
    usual_carry: int | None = holds(hundredths=STEP, default=None, sa_type=BigInteger)
    unit: str = holds(*UNITS)
    retired: bool = False


class Visit(Numbered, table=True):
    """One player's day at the range, made by the day's first run or session."""

    __tablename__ = "visit"
    __table_args__ = (Index(None, "player", "day"),)

    player: int = Field(foreign_key="player.number")
    day: str
    place: str | None = None
    surface: str | None = None
    ball: str | None = None
    wind: str | None = None
    note: str | None = None
    bay: str | None = None


class Session(Numbered, table=True):
    """A timed visit. What happened in it is in its events."""

    __tablename__ = "session"

    __table_args__ = (
        Index(
            "ix_session_open",
            "number",
            info={WHERE: "ended_at IS NULL"},
        ),
    )

    player: int = Field(foreign_key="player.number", index=True)
    visit_id: str | None = Field(default=None, foreign_key="visit.id")
    plan: str = holds(json=True)
    started: str = holds(time="started_offset")
    started_offset: int
    ended_at: str | None = holds(time="ended_offset", default=None)
    ended_offset: int | None = None


class Event(Base, table=True):
    """One thing that happened in a session; never changed."""

    __tablename__ = "session_event"
    __table_args__ = (UniqueConstraint("session", "seq"),)

    number: int | None = Field(default=None, primary_key=True)
    session: int = Field(foreign_key="session.number")
    seq: int
    at: str = holds(time="at_offset")
    at_offset: int
    kind: str
    data: str = holds(json=True)


class Stock(Base, table=True):
    """A stock carry as it was found; the newest of a club and swing is in force."""

    __tablename__ = "stock_carry"
    __table_args__ = (Index(None, "player", "club", "swing", "number"),)

    number: int | None = Field(default=None, primary_key=True)
    player: int = Field(foreign_key="player.number")
    club: str
    swing: str
    carry: int = holds(hundredths=SPAN)
    low: int = holds(hundredths=ANY)
    high: int = holds(hundredths=ANY)
    spread: int = holds(hundredths=ANY)
    unit: str = holds(*UNITS)
    at: str = holds(time="at_offset")
    at_offset: int
    session_id: str | None = Field(default=None, foreign_key="session.id")
    data: str = holds(json=True)


class Match(Numbered, table=True):
    """Several players' runs of one drill."""

    __tablename__ = "match"
    __table_args__ = (
        Index(
            "ix_match_open",
            "number",
            info={WHERE: "ended_at IS NULL"},
        ),
    )

    drill: str
    data: str = holds(json=True)
    started: str = holds(time="started_offset")
    started_offset: int
    ended_at: str | None = holds(time="ended_offset", default=None)
    ended_offset: int | None = None


class Seat(Base, table=True):
    """One player's place in a match."""

    __tablename__ = "match_player"
    __table_args__ = (UniqueConstraint("match", "place"),)

    match: int = Field(foreign_key="match.number", primary_key=True)
    player: int = Field(foreign_key="player.number", primary_key=True)
    place: int
    data: str = holds(json=True)


class DrillAsSet(Base, table=True):
    """A drill as it was set, once however many runs were played of it; never changed.

    `digest` names the row by all that it holds; `fingerprint` leaves out what makes no difference
    to a record.
    """

    __tablename__ = "drill_as_set"

    number: int | None = Field(default=None, primary_key=True)
    digest: str = Field(unique=True)
    drill: str
    title: str
    fingerprint: str = Field(index=True)
    setting: str = holds(json=True)
    as_set: str = holds(json=True)
    game: str
    game_hash: str
    better: str = holds(*get_args(Better))
    asks: str = holds(*get_args(Asks))
    direction: str = holds(*get_args(Direction))
    lost_counts: int | None = holds(hundredths=SPAN, default=None, sa_type=BigInteger)
    club: str
    swing: str
    unit: str = holds(*UNITS)


class Run(Numbered, table=True):
    """One player's playing of one drill. What follows from the entries is written with them.

    `rank` is the score turned so that less is better, and null for a run that can't be a record;
    `ended_by` is the entry that ended it, so that of equal scores the earlier keeps the best.
    """

    __tablename__ = "run"
    __table_args__ = (
        Index("ix_run_of_player", "player", "number"),
        Index("ix_run_of_drill", "drill", "number"),
        Index("ix_run_of_player_and_drill", "player", "drill", "number"),
        Index("ix_run_of_player_and_setting", "player", "fingerprint", "number"),
        Index("ix_run_of_setting", "fingerprint", "number"),
        Index(
            "ix_run_best",
            "player",
            "fingerprint",
            "rank",
            "ended_by",
            info={WHERE: "rank IS NOT NULL"},
        ),
        Index(
            "ix_run_open",
            "player",
            "drill",
            unique=True,
            info={WHERE: "ended IS NULL AND NOT decider"},
        ),
        Index(
            "ix_run_of_match",
            "match_id",
            info={WHERE: "match_id IS NOT NULL"},
        ),
        Index(
            "ix_run_of_session",
            "session_id",
            info={WHERE: "session_id IS NOT NULL"},
        ),
    )

    player: int = Field(foreign_key="player.number")
    drill: str = holds(follows=True)
    fingerprint: str = holds(follows=True)
    drill_as_set: int = Field(foreign_key="drill_as_set.number")
    tally: bool
    started: str = holds(time="started_offset")
    started_offset: int
    counted: int
    voided: int
    undone: int
    score: int | None = holds(hundredths=ANY, default=None, sa_type=BigInteger)
    rank: int | None = holds(follows=True, default=None, sa_type=BigInteger)
    finished: bool
    ended: str | None = None
    ended_at: str | None = holds(time="ended_offset", default=None)
    ended_offset: int | None = None
    ended_by: int | None = None
    broken: str | None = None
    visit_id: str | None = Field(default=None, foreign_key="visit.id")
    session_id: str | None = Field(default=None, foreign_key="session.id")
    block: str | None = None
    match_id: str | None = Field(default=None, foreign_key="match.id")
    decider: bool = False


class Entry(Base, table=True):
    """One thing typed; never changed. Of a shot, how it was read and what was in force.

    A direction of which nothing was seen has its `lost` null.
    """

    __tablename__ = "entry"
    __table_args__ = (
        UniqueConstraint("run", "seq"),
        Index(
            "ix_entry_shots",
            "player",
            "club",
            "swing",
            "number",
            info={WHERE: "kind = 'shot'"},
        ),
        Index(
            "ix_entry_holing",
            "player",
            "aim_lie",
            "number",
            info={WHERE: "aim_lie IS NOT NULL"},
        ),
    )

    number: int | None = Field(default=None, primary_key=True)
    run: int = Field(foreign_key="run.number")
    seq: int
    at: str = holds(time="at_offset")
    at_offset: int
    kind: str = holds(*(kind.value for kind in Kind))
    text: str
    player: int = holds(follows=True, foreign_key="player.number")
    club: str | None = None
    swing: str | None = None
    aim_carry: int | None = holds(hundredths=STEP, default=None)
    aim_width: int | None = holds(hundredths=STEP, default=None)
    aim_depth: int | None = holds(hundredths=STEP, default=None)
    lateral_side: int | None = holds(*SIDES, default=None)
    lateral_size: int | None = holds(hundredths=SPAN, default=None)
    lateral_grid: int | None = holds(hundredths=STEP, default=None)
    lateral_lost: bool | None = None
    depth_side: int | None = holds(*SIDES, default=None)
    depth_size: int | None = holds(hundredths=SPAN, default=None)
    depth_grid: int | None = holds(hundredths=STEP, default=None)
    depth_lost: bool | None = None
    carry: int | None = holds(hundredths=SPAN, default=None)
    carry_grid: int | None = holds(hundredths=STEP, default=None)
    out: bool | None = None
    match_order: int | None = None
    aim_length: int | None = holds(hundredths=STEP, default=None)
    aim_lie: str | None = holds(*get_args(NearLie), default=None)
    strokes: int | None = holds(*range(1, MOST_STROKES + 1), default=None)
    leave: int | None = holds(hundredths=SPAN, default=None)
    leave_grid: int | None = holds(hundredths=STEP, default=None)
    call: int | None = holds(hundredths=SPAN, default=None)
    call_grid: int | None = holds(hundredths=STEP, default=None)


class Owner(Base, table=True):
    """Whose records these are, from a moment on; the newest row is in force.

    Without any it is the player first made.
    """

    __tablename__ = "owner"

    number: int | None = Field(default=None, primary_key=True)
    player: int = Field(foreign_key="player.number")
    at: str = holds(time="at_offset")
    at_offset: int


GIFTS = ("run", "session", "seat", "round")


class Given(Numbered, table=True):
    """Something that was typed under one player and given to the one whose it was; never changed.

    what: the id of the run or session, or of the match in which the seat is.
    """

    __tablename__ = "given"
    __table_args__ = (Index(None, "what", "number"),)

    kind: str = holds(*GIFTS)
    what: str
    giver: int = Field(foreign_key="player.number")
    taker: int = Field(foreign_key="player.number")
    at: str = holds(time="at_offset")
    at_offset: int


class Round(Numbered, table=True):
    """A round on a course, or a score alone. What was told of it is in its events.

    course, as_played, tee: the course's id, the course as it was and the name of the tee; null for
    a score that came without one. data: what was said when it was begun.
    """

    __tablename__ = "round"

    player: int = Field(foreign_key="player.number", index=True)
    course: str | None = None
    as_played: str | None = holds(json=True, default=None)
    tee: str | None = None
    day: str
    form: str = holds(*FORMS)
    data: str = holds(json=True)
    started: str = holds(time="started_offset")
    started_offset: int


class RoundEvent(Base, table=True):
    """One thing that was told of a round; never changed."""

    __tablename__ = "round_event"
    __table_args__ = (UniqueConstraint("round", "seq"),)

    number: int | None = Field(default=None, primary_key=True)
    round: int = Field(foreign_key="round.number")
    seq: int
    at: str = holds(time="at_offset")
    at_offset: int
    kind: str = holds(*CARD_FACTS)
    data: str = holds(json=True)


class Goal(Base, table=True):
    """What a player wants to reach by a day; the newest of a kind and drill is in force.

    value: an index or a score; null where the goal was taken back. drill: `None` for an index.
    """

    __tablename__ = "goal"
    __table_args__ = (Index(None, "player", "number"),)

    number: int | None = Field(default=None, primary_key=True)
    player: int = Field(foreign_key="player.number")
    kind: str = holds(*GOALS)
    drill: str | None = None
    value: int | None = holds(hundredths=ANY, default=None, sa_type=BigInteger)
    day: str | None = None
    at: str = holds(time="at_offset")
    at_offset: int


class Thought(Base, table=True):
    """The one thing a player works on in their technique; the newest is in force, null for none."""

    __tablename__ = "thought"
    __table_args__ = (Index(None, "player", "number"),)

    number: int | None = Field(default=None, primary_key=True)
    player: int = Field(foreign_key="player.number")
    words: str | None = None
    at: str = holds(time="at_offset")
    at_offset: int


class Sharing(Base, table=True):
    """Whether a player stands on the boards that all can see; the newest row is in force.

    Without any it is no.
    """

    __tablename__ = "sharing"
    __table_args__ = (Index(None, "player", "number"),)

    number: int | None = Field(default=None, primary_key=True)
    player: int = Field(foreign_key="player.number")
    yes: bool
    at: str = holds(time="at_offset")
    at_offset: int


class Pin(Base, table=True):
    """A player's own PIN, as a slow hash."""

    __tablename__ = "pin"

    player: int = Field(foreign_key="player.number", primary_key=True)
    kept: str


class Phone(Base, table=True):
    """A phone that came in, by the hash of its cookie. came, seen: seconds since 1970."""

    __tablename__ = "phone"

    hash: str = Field(primary_key=True)
    player: int | None = Field(default=None, foreign_key="player.number", index=True)
    came: int = Field(sa_type=BigInteger)
    seen: int = Field(sa_type=BigInteger)
    about: str
    bay: str | None = None
    signed_out: bool = False


class Gathering(Base, table=True):
    """A match between bays: a number to join it by, and the match once it has begun.

    code: null as soon as nobody can join by it any more. data: what is played, and how.
    """

    __tablename__ = "gathering"

    number: int | None = Field(default=None, primary_key=True)
    code: str | None = Field(default=None, unique=True)
    data: str = holds(json=True)
    match: int | None = Field(default=None, foreign_key="match.number", unique=True)
    at: str = holds(time="at_offset")
    at_offset: int


class Gathered(Base, table=True):
    """A player in a match between bays, who joined in the order of `place`.

    beats: counted up while their phone or terminal is there; null once it said that it goes.
    """

    __tablename__ = "gathered"

    gathering: int = Field(foreign_key="gathering.number", primary_key=True)
    player: int = Field(foreign_key="player.number", primary_key=True)
    place: int
    beats: int | None = Field(default=None, sa_type=BigInteger)


metadata = Base.metadata
player, handicap, club, visit = (t.__table__ for t in (Player, Handicap, Club, Visit))
session, event, stock = (t.__table__ for t in (Session, Event, Stock))
match, seat = (t.__table__ for t in (Match, Seat))
drill_as_set, run, entry = (t.__table__ for t in (DrillAsSet, Run, Entry))
owner, given = (t.__table__ for t in (Owner, Given))
round, round_event = (t.__table__ for t in (Round, RoundEvent))
goal, thought = (t.__table__ for t in (Goal, Thought))
sharing, pin, phones = (t.__table__ for t in (Sharing, Pin, Phone))
gathering, gathered = (t.__table__ for t in (Gathering, Gathered))


COUNTING = BigInteger().with_variant(Integer(), "sqlite")
"""What counts rows, and what names a row by that. SQLite's own count has 64 bits as it is."""


def _counts(column: Any) -> bool:
    named = {key.column.name for key in column.foreign_keys}
    return column.name == "number" or "number" in named or column.name == "ended_by"


for _table in metadata.tables.values():
    for _column in _table.columns:
        if _counts(_column):
            _column.type = COUNTING

NEWEST = VERSIONS[-1]
