"""The rows of a CSV as an export of our own, so that they come in as any other shots do.

The shots of one club, swing and day make one run of no drill: it feeds the pattern and is never a
record. Each is numbered by its line, and the run remembers the file by its content: a second
import of the same file adds only the rows that did not come in before.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from drillrunner.practice.carries.columns import Reading
from drillrunner.rules import Seen
from drillrunner.store import bringing, documents
from drillrunner.store.bringing import Brought
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

ID, TITLE, ENDED = "imported-shots", "Imported shots", "imported"

SPACE = uuid.UUID("8f2e7a5c-31d4-4c0e-9b52-6d1f0a7c3e90")
"""Names the runs, so that the same rows always make the same one."""

Row = dict[str, Any]


def bring_shots(
    store: Store, player: PlayerInfo, readings: Sequence[Reading], content: bytes, now: datetime
) -> Brought:
    """Add the rows of a file that are not there yet. now: for rows without a time.

    Raises StoreError; then nothing was added.
    """
    digest = hashlib.sha256(content).hexdigest()
    known = lines_known(store, player, digest)
    fresh = [reading for reading in readings if reading.line not in known]
    document = documents.checked(_document(player, fresh, digest, now))
    return bringing.bring_in(store.database, document, {})


def lines_known(store: Store, player: PlayerInfo, digest: str) -> frozenset[int]:
    """The lines of a file, named by the sha256 of its content, that have come in before."""
    runs = store.history(ID, player.id)
    return frozenset(
        entry.seq
        for run in runs
        if json.loads(run.as_set).get("file") == digest
        for entry in store.entries(run.run)
    )


def _document(
    player: PlayerInfo, readings: Iterable[Reading], digest: str, now: datetime
) -> Mapping[str, Any]:
    groups: dict[tuple[str, ...], list[Reading]] = defaultdict(list)
    for reading in readings:
        day = (reading.at or now).date().isoformat()
        groups[reading.club, reading.swing, reading.unit, day].append(reading)
    settings: dict[str, Row] = {}
    visits: dict[str, Row] = {}
    runs, entries = [], []
    for (club, swing, unit, day), rows in groups.items():
        setting = _setting(rows[0], digest)
        settings[setting["digest"]] = setting
        visit = {"id": _name(player.id, day), "player": player.id, "day": day}
        visits[day] = visit
        run = _name(player.id, digest, club, swing, unit, day, str(rows[0].line))
        times = [reading.at or now for reading in rows]
        runs.append(
            {
                "id": run,
                "player": player.id,
                "drill_as_set": setting["digest"],
                "tally": True,
                "started": min(times).isoformat(),
                "counted": len(rows),
                "voided": 0,
                "undone": 0,
                "finished": False,
                "ended": ENDED,
                "ended_at": max(times).isoformat(),
                "visit_id": visit["id"],
                "decider": False,
            }
        )
        entries += [_entry(run, row, at) for row, at in zip(rows, times, strict=True)]
    return {
        "player": [_player(player, now)],
        "visit": list(visits.values()),
        "drill_as_set": list(settings.values()),
        "run": runs,
        "entry": entries,
    }


def _name(*parts: str) -> str:
    return str(uuid.uuid5(SPACE, "/".join(parts)))


def _player(player: PlayerInfo, now: datetime) -> Row:
    return {
        "id": player.id,
        "name": player.name,
        "unit": player.unit,
        "hidden": player.hidden,
        "at": now.isoformat(),
    }


def _setting(reading: Reading, digest: str) -> Row:
    setting: Row = {
        "game": ENDED,
        "settings": {},
        "aim": {},
        "club": reading.club,
        "between": None,
        "unit": reading.unit,
        "grid": 1,
    }
    as_set = {"id": ID, "title": TITLE, "swing": reading.swing, **setting, "file": digest}
    misses = reading.shot.lateral is not None or reading.shot.depth is not None
    return {
        "digest": hashlib.sha256(json.dumps(as_set, sort_keys=True).encode()).hexdigest(),
        "drill": ID,
        "title": TITLE,
        "fingerprint": hashlib.sha256(json.dumps(setting, sort_keys=True).encode()).hexdigest(),
        "setting": setting,
        "as_set": as_set,
        "game": ENDED,
        "game_hash": "",
        "better": "higher",
        "asks": "miss" if misses else "carry",
        "direction": "lateral" if reading.shot.lateral is not None else "depth",
        "club": reading.club,
        "swing": reading.swing,
        "unit": reading.unit,
    }


def _entry(run: str, reading: Reading, at: datetime) -> Row:
    shot = reading.shot
    row: Row = {
        "run": run,
        "seq": reading.line,
        "at": at.isoformat(),
        "kind": "shot",
        "text": reading.text,
        "club": reading.club,
        "swing": reading.swing,
        "out": False,
        "aim_carry": reading.target,
        "carry": shot.carry,
        "carry_grid": shot.carry_grid,
        **_seen("lateral", shot.lateral),
        **_seen("depth", shot.depth),
    }
    return row


def _seen(direction: str, seen: Seen | None) -> Row:
    if seen is None:
        return {}
    return {
        f"{direction}_side": seen.side,
        f"{direction}_size": seen.size,
        f"{direction}_grid": seen.grid,
        f"{direction}_lost": False,
    }
