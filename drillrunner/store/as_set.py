"""Drills as they were set: written once however many runs are played, and read back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

from sqlalchemy import Connection, bindparam, select

from drillrunner.catalogue.drill import BadDrill, Drill, from_stored
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.rules.game import AnyGame
from drillrunner.store import tables as t
from drillrunner.store.database import Prepared
from drillrunner.store.entry_rows import all_but_number
from drillrunner.store.errors import StoreError
from drillrunner.store.shapes import StoredRun
from drillrunner.store.stored import hundredths

_FIND_SETTING = Prepared(
    select(t.drill_as_set.c.number).where(t.drill_as_set.c.digest == bindparam("digest"))
)
_COLUMNS = all_but_number(t.drill_as_set)
_ADD_SETTING = Prepared(
    f"INSERT INTO drill_as_set ({', '.join(_COLUMNS)})"
    f" VALUES ({', '.join(f':{name}' for name in _COLUMNS)}) ON CONFLICT (digest) DO NOTHING"
)
"""On a server another bay may write the same one at the same moment."""


def kept_setting(connection: Connection, drill: Drill, game: AnyGame) -> int:
    """The number of the row that holds this drill as it is set; made if need be."""
    as_set = drill.as_set()
    digest = hashlib.sha256(f"{drill.game_hash}\n{as_set}".encode()).hexdigest()
    number = _FIND_SETTING.value(connection, {"digest": digest})
    if number is None:
        ask = game.ask
        values = {
            "digest": digest,
            "drill": drill.id,
            "title": drill.title,
            "fingerprint": drill.fingerprint,
            "setting": json.dumps(drill.setting(), sort_keys=True, ensure_ascii=False),
            "as_set": as_set,
            "game": game.id,
            "game_hash": drill.game_hash,
            "better": game.better,
            "asks": ask.asks,
            "direction": ask.direction,
            "lost_counts": hundredths(ask.lost_counts),
            "club": drill.club,
            "swing": drill.swing,
            "unit": drill.unit,
        }
        _ADD_SETTING.do(connection, values)
        number = _FIND_SETTING.value(connection, {"digest": digest})
    return int(number)


def drill_as_stored(stored: StoredRun, games: Mapping[str, LoadedGame]) -> Drill:
    """The drill of a stored run with its game. Raises StoreError if that has gone or changed."""
    if stored.broken is not None:
        raise StoreError(f"{stored.title}: {stored.broken}")
    loaded = games.get(stored.game)
    way_out = "the run is kept as stored"
    if stored.ended is None:
        way_out += " and can be given up"
    if loaded is None:
        raise StoreError(f"{stored.title}: its game {stored.game} is not there any more: {way_out}")
    if loaded.hash != stored.game_hash:
        raise StoreError(f"{stored.title}: its game {stored.game} has changed since: {way_out}")
    try:
        return from_stored(stored.as_set, loaded.cls, loaded.hash)
    except BadDrill as error:
        raise StoreError(f"{stored.title}: {error}: {way_out}") from error
