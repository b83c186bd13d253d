"""Rounds as they were told: kept as given; what they come to is for `practice` to say."""

from __future__ import annotations

import json
import uuid
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Connection, bindparam, exists, insert, select

from drillrunner.catalogue.courses import from_kept
from drillrunner.rules.card import Form
from drillrunner.rules.scorecard import CardFact, Scorecard, card_of
from drillrunner.store import tables as t
from drillrunner.store.database import Database, Prepared
from drillrunner.store.errors import Conflict, PlayedElsewhere, StoreError
from drillrunner.store.once import Once
from drillrunner.store.opened import player_number
from drillrunner.store.shapes import RoundInfo
from drillrunner.store.sound import sound
from drillrunner.store.stored import moment, stamp

Data = Mapping[str, Any]
RoundFact = tuple[CardFact, Data]

_NUMBER = Prepared(select(t.round.c.number).where(t.round.c.id == bindparam("id")))
_TELL = Prepared(insert(t.round_event), ("round", "seq", "at", "at_offset", "kind", "data"))


class NewRound(NamedTuple):
    """A round that is to be kept, with what is known of it already, in order.

    course, as_played, tee: the course's id, the whole course in JSON and the name of the tee.
    id: for who may have to try again: one that is there is left as it is.
    """

    day: date
    form: Form
    course: str | None = None
    as_played: str | None = None
    tee: str | None = None
    data: Data = {}
    told: Sequence[RoundFact] = ()
    id: str | None = None


class RoundBook:
    """The rounds of a store. Every method raises StoreError in one line."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self._database = database
        self._clock = clock
        self._once = Once(database)

    def add(self, player_id: str, *rounds: NewRound) -> tuple[RoundInfo, ...]:
        """Keep new rounds, all or none."""
        with self._database.writing() as connection:
            player = player_number(connection, player_id)
            ids = [_added(connection, player, one, self._clock()) for one in rounds]
        return tuple(self.round(id) for id in ids)

    def tell(self, round_id: str, seq: int, kind: CardFact, data: Data | None = None) -> None:
        """Keep one more thing that was told of a round; on disk when this returns.

        seq: one more than the last one's. Raises PlayedElsewhere if that is taken.
        """
        self._tell(round_id, seq, [(kind, data or {})], self._clock())

    def tell_on(self, info: RoundInfo, told: Sequence[RoundFact], at: datetime) -> RoundInfo:
        """Keep what was told of a round after what is known of it, all or none; how it stands then.

        at: when it was told. It may be given again after trouble. Raises PlayedElsewhere if the
        round is another by now.
        """
        card, seq = info.card, info.seq
        for kind, data in told:
            card, seq = card.after(kind, data), seq + 1
        self._tell(info.id, info.seq + 1, told, at)
        return info._replace(card=card, seq=seq)

    def _tell(self, round_id: str, first: int, told: Sequence[RoundFact], at: datetime) -> None:
        rows = _rows(first, told, at)

        def put(connection: Connection) -> bool:
            number = _number(connection, round_id)
            for row in rows:
                _TELL.do(connection, {"round": number, **row})
            return True

        def there(connection: Connection) -> bool | None:
            e = t.round_event.c
            columns = [e[name] for name in rows[0]]
            query = select(*columns).join(t.round).where(t.round.c.id == round_id, e.seq >= first)
            found = connection.execute(query.order_by(e.seq)).mappings()
            return True if [dict(row) for row in found] == rows else None

        try:
            self._once.write(round_id, put, there)
        except Conflict as error:
            raise PlayedElsewhere("this round is being typed elsewhere") from error

    def of(self, player_id: str, latest: int | None = None) -> tuple[RoundInfo, ...]:
        """A player's rounds in the order in which they were begun, those taken out too.

        latest: only so many of the last days' ones.
        """
        with self._database.reading() as connection:
            return _rounds(connection, player=player_id, latest=latest)

    def unfinished(self, player_id: str) -> tuple[RoundInfo, ...]:
        """A player's rounds of which not all is told, newest first."""
        with self._database.reading() as connection:
            found = _rounds(connection, player=player_id, is_open=True)
        return tuple(reversed([one for one in found if not one.card.out]))

    def round(self, round_id: str) -> RoundInfo:
        """One round."""
        with self._database.reading() as connection:
            found = _rounds(connection, id=round_id)
        if not found:
            raise StoreError(f"no round {round_id}: it was taken away, or can't be read")
        return found[0]


def _added(connection: Connection, player: int, new: NewRound, at: datetime) -> str:
    id, (started, offset) = new.id or str(uuid.uuid4()), stamp(at)
    if connection.execute(select(t.round.c.id).where(t.round.c.id == id)).first():
        return id
    number = connection.execute(
        insert(t.round)
        .values(
            id=id,
            player=player,
            course=new.course,
            as_played=new.as_played,
            tee=new.tee,
            day=new.day.isoformat(),
            form=new.form,
            data=_text(new.data),
            started=started,
            started_offset=offset,
        )
        .returning(t.round.c.number)
    ).scalar_one()
    for row in _rows(1, new.told, at):
        _TELL.do(connection, {"round": number, **row})
    return id


def _rows(first: int, told: Sequence[RoundFact], at: datetime) -> list[dict[str, Any]]:
    """What was told as it lies in the table. first: the place of the first of it."""
    utc, offset = stamp(at)
    return [
        {"seq": seq, "at": utc, "at_offset": offset, "kind": kind, "data": _text(data)}
        for seq, (kind, data) in enumerate(told, first)
    ]


def _number(connection: Connection, id: str) -> int:
    number = _NUMBER.value(connection, {"id": id})
    if number is None:
        raise StoreError(f"no round {id}")
    return int(number)


def _text(data: Data) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def _rounds(
    connection: Connection,
    id: str | None = None,
    player: str | None = None,
    latest: int | None = None,
    is_open: bool = False,
) -> tuple[RoundInfo, ...]:
    r = t.round.c
    columns = (r.id, r.number, t.player.c.id.label("player_id"), t.player.c.name, r.course)
    more = (r.as_played, r.tee, r.day, r.form, r.data, r.started, r.started_offset)
    query = (
        select(*columns, *more)
        .select_from(t.round.join(t.player))
        .order_by(r.day.desc(), r.number.desc())
        .limit(latest)
    )
    if id is not None:
        query = query.where(r.id == id)
    if player is not None:
        query = query.where(t.player.c.id == player)
    if is_open:
        e = t.round_event.c
        done = exists().where(e.round == r.number, e.kind == "finished")
        query = query.where(~done)
    rows = sorted(connection.execute(query), key=lambda row: int(row.number))
    told = _told(connection, player, id, rows[0].number if rows else 0)

    def made(row: Any) -> RoundInfo:
        id, number, player_id, name, course, as_played, tee, day, form, data, at, offset = row
        if as_played is not None:
            _tee_is_there(as_played, tee)
        kinds, texts = told[number]
        return RoundInfo(
            id,
            player_id,
            name,
            course,
            as_played,
            tee,
            date.fromisoformat(day),
            form,
            json.loads(data),
            moment(at, offset),
            _card(tuple(kinds), ",".join(texts)),
            len(kinds),
        )

    return tuple(sound(connection, "round", rows, made))


def _tee_is_there(as_played: str, tee: str | None) -> None:
    try:
        from_kept(as_played).tee(tee)
    except LookupError as error:
        raise ValueError(str(error)) from None


def _told(
    connection: Connection, player: str | None, id: str | None, first: int
) -> Mapping[int, tuple[list[str], list[str]]]:
    """Kinds and data of what was told of these rounds, by their number. first: the least one."""
    e = t.round_event.c
    found: dict[int, tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
    query = (
        select(e.round, e.kind, e.data)
        .select_from(t.round_event.join(t.round).join(t.player))
        .where(e.round >= first)
        .order_by(e.round, e.seq)
    )
    if player is not None:
        query = query.where(t.player.c.id == player)
    if id is not None:
        query = query.where(t.round.c.id == id)
    for number, kind, data in connection.execute(query):
        kinds, texts = found[number]
        kinds.append(kind)
        texts.append(data)
    return found


@lru_cache(maxsize=1024)
def _card(kinds: Sequence[str], told: str) -> Scorecard:
    """The card that these make, parsed at once: ten years are read before a plan is made.

    What was told never changes, so that a round that was read once is known.
    """
    found = json.loads(f"[{told}]")
    if not all(isinstance(data, dict) for data in found):
        raise ValueError("expected objects in what was told of a round")
    return card_of(zip(kinds, found, strict=True))
