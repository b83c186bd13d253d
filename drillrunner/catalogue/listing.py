"""What the first screens tell of the drills, kept so that a start need not wait for them.

It serves only while every file that it was made from is as it was. The app reads the drills all
the same once its first screen stands, and shows what it found then.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from drillrunner import __version__
from drillrunner.catalogue import places
from drillrunner.rules.units import plain

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.rules.run import Run
    from drillrunner.rules.score import Better
    from drillrunner.rules.station import Ask
    from drillrunner.rules.units import Unit


class Opening(NamedTuple):
    """A run of a drill before its first ball. settings: those that are not at their default.

    swings: of its stations. moves: whether what is asked may change. ask: the fields of an `Ask`.
    """

    settings: Mapping[str, Any]
    swings: Sequence[str]
    moves: bool
    ask: Mapping[str, Any]
    readout: Mapping[str, Any]
    score: Any

    def asked(self) -> Ask:
        """What is asked of the first ball. Raises KeyError, TypeError where that was kept otherwise
        than an `Ask` is now."""
        from drillrunner.rules.shot import Aim
        from drillrunner.rules.station import Ask

        fields = {name: as_decimal(value) for name, value in self.ask.items()}
        return Ask(**{**fields, "aim": Aim(**fields["aim"])})


def as_decimal(value: Any) -> Any:
    """A number that was kept, with the digits that it had; anything else as it is."""
    return Decimal(str(value)) if isinstance(value, int | float) else value


class Listed(NamedTuple):
    """A drill in the player's unit. setting: of `Drill.setting()`, with every setting filled in.

    opening: `None` for a stranger's game, one that fails, or what hangs on who plays.
    """

    id: str
    title: str
    about: str
    club: str
    better: Better
    fingerprint: str
    setting: Mapping[str, Any]
    balls: int | None
    minutes: int | None
    opening: Opening | None


class Listing(NamedTuple):
    """All drills, and how many problems a person's files have: drills, games, plans, ranges."""

    drills: tuple[Listed, ...]
    problems: int

    @classmethod
    def of(cls, catalogue: Catalogue, fitted: Callable[[Drill], Drill], problems: int) -> Listing:
        """The drills of a catalogue, each as `fitted` to the player's unit."""
        ours = {game.hash for game in catalogue.games.values() if game.bundled}
        drills = (fitted(drill) for drill in catalogue.drills)
        # A stranger's game is asked nothing before it is played: it may take its time, and what it
        # is set with need not have a hash.
        listed = (_ours(one) if one.game_hash in ours else _listed(one, None) for one in drills)
        return cls(tuple(listed), problems)


@lru_cache(256)
def _ours(drill: Drill) -> Listed:
    return _listed(drill, _opening(drill))


def _listed(drill: Drill, opening: Opening | None) -> Listed:
    return Listed(
        drill.id,
        drill.title,
        drill.about,
        drill.club,
        drill.game_class.better,
        drill.fingerprint,
        {**drill.setting(), "settings": drill.settings.model_dump(mode="json")},
        drill.balls,
        drill.minutes,
        opening,
    )


def _opening(drill: Drill) -> Opening | None:
    from drillrunner.rules.run import Run

    try:
        run = Run.begin(drill.game(), drill.between)
        return None if run.over else _said(drill, run)
    except Exception:
        # A stock carry is not filled in, or the game raises or says what no file can keep: opened,
        # it is told of.
        return None


def _said(drill: Drill, run: Run) -> Opening:
    said = Opening(
        drill.setting()["settings"],
        [station.swing for station in drill.stations],
        run.game.moves,
        {**asdict(run.ask), "aim": run.ask.aim.said},
        run.opening.readout,
        run.score,
    )
    return Opening(*json.loads(json.dumps(said, default=plain)))


def kept(folders: Sequence[Path], unit: Unit | None) -> Listing | None:
    """The listing as it was kept in that unit, if its files are as they were then."""
    found = _kept(folders)
    return found[1] if found is not None and found[0] == unit else None


def lists(folders: Sequence[Path], id: str) -> bool:
    """Whether a drill is in the listing as it was kept, in whatever unit, and can be opened."""
    found = _kept(folders)
    drills = () if found is None else found[1].drills
    return any(drill.id == id and drill.opening is not None for drill in drills)


def _kept(folders: Sequence[Path]) -> tuple[Unit | None, Listing] | None:
    try:
        made_from, unit, drills, problems = json.loads(_file().read_text())
        if made_from == _made_from(folders):
            return unit, Listing(tuple(map(_as_kept, drills)), problems)
    except (OSError, ValueError, TypeError):
        pass
    return None


def _as_kept(drill: Sequence[Any]) -> Listed:
    listed = Listed(*drill)
    opening = listed.opening
    return listed if opening is None else listed._replace(opening=Opening(*opening))


def keep(listing: Listing, folders: Sequence[Path], unit: Unit | None) -> None:
    """Keep a listing for the next start; where that can't be, that start reads the drills."""
    file, text = _file(), json.dumps([_made_from(folders), unit, *listing])
    beside = file.with_suffix(f".{os.getpid()}")
    try:
        if file.exists() and file.read_text() == text:
            return
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside.write_text(text)
        os.replace(beside, file)
    except OSError:
        with suppress(OSError):
            beside.unlink()


def _file() -> Path:
    return places.data_dir() / "listing.json"


def _made_from(folders: Sequence[Path]) -> list[Any]:
    """What a listing hangs on: the program, and each file's path, size and time."""
    own = places.config_dir()
    inner = (folder / name for folder in folders for name in ("plans", "courses"))
    return [
        __version__,
        *_stamps([*folders, *inner, *(own / name for name in ("", "ranges", "courses"))]),
    ]


def _stamps(folders: Sequence[Path]) -> Iterator[list[Any]]:
    for folder in folders:
        try:
            names = sorted(os.listdir(folder))
        except OSError:
            names = []
        for file in (folder, *(folder / name for name in names)):
            try:
                found = file.stat()
            except OSError:
                yield [str(file)]
            else:
                yield [str(file), found.st_size, found.st_mtime_ns, found.st_ino]
