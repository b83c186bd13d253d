"""The bundled games, loaded by path with nothing but the standard library."""

from __future__ import annotations

import importlib.util
import sys
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from drillrunner.rules import Aim, AnyGame, Game, Station
from drillrunner.rules.outcome import GRIDS, Asks
from drillrunner.rules.station import HOLING

CLUB = "sand-wedge"
FOLDER = Path(__file__).parents[2] / "games"
NEEDED: dict[str, dict[str, Any]] = {"holes": {"costs": [[25, 25, 30, 30], [125, 25, 30, 60]]}}
"""Settings without which a game can't be played."""
ANSWERS: dict[Asks, tuple[str, ...]] = {
    "verdict": ("5", "4", "6", "7", "+15"),
    "miss": ("0", "-5", "+7.5", "-", "lost"),
    "carry": ("45", "44", "80", "80.5", "40"),
    "call": ("64:61", "64:64", "60:72.5", "70:40", "45:45"),
    "strokes": ("1", "2", "3", "1", "9"),
    "leave": ("0", "4", "12", "2.5", "30"),
}
"""Five ways to answer each question; some are refused where an aim does not know them."""
IDS = tuple(sorted(path.stem for path in FOLDER.glob("*.py")))


@cache
def game_class(stem: str) -> type[AnyGame]:
    """The one game in a file of the bundle."""
    name = f"bundled_{stem}"
    spec = importlib.util.spec_from_file_location(name, FOLDER / f"{stem}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    found = [
        value
        for value in vars(module).values()
        if isinstance(value, type) and issubclass(value, Game) and value.__module__ == name
    ]
    (cls,) = found
    return cls


def make(
    stem: str,
    aim: Aim | None = None,
    grid: str | None = None,
    asks: Asks | None = None,
    **settings: Any,
) -> AnyGame:
    """A game with an aim that suits what it asks, unless another is given."""
    cls = game_class(stem)
    asks = asks or cls.asks
    if aim is None and asks in HOLING:
        aim = Aim(length=Decimal(10), lie="green")
    elif aim is None:
        aim = Aim(carry=Decimal(45)) if asks == "carry" else Aim(width=Decimal(40))
    step = Decimal(grid) if grid else GRIDS[asks]
    stations = [Station(aim, asks, step, CLUB)]
    if cls.several and asks == "verdict":
        far = Aim(width=Decimal(20), far_left=Decimal(25), far_right=Decimal(30))
        stations.append(Station(far, asks, step, CLUB, "half"))
    elif cls.several and asks in HOLING:
        stations.append(Station(Aim(length=Decimal(30), lie="green"), asks, step, CLUB))
    elif cls.several:
        rungs = (Aim(carry=Decimal(60)), Aim(carry=Decimal("72.5")))
        stations += [Station(rung, asks, step, CLUB, "half") for rung in rungs]
    settings = {**NEEDED.get(stem, {}), **settings}
    return cls(cls.Settings(**settings), aim, step, stations=stations)


def variants() -> list[AnyGame]:
    """Every bundled game as its defaults have it, and set in the ways that change its course."""
    depth, both = Aim(depth=Decimal(12)), Aim(width=Decimal(30), depth=Decimal("12.5"))
    games = [make(stem) for stem in IDS]
    games += [
        make("lives", both, lives=2, balls=6),
        make("lives", depth, lives=1),
        make("miss_total", balls=4, cap=Decimal(40)),
        make("miss_total", depth, grid="1", balls=5, axis="depth"),
        make("call_the_carry", Aim(), balls=3, cap=Decimal("7.5")),
        make("narrowing", lives=1, narrower=Decimal("7.5"), floor=Decimal(25)),
        make("narrowing", both, lives=2, floor=Decimal(20)),
        make("ladder", limit=4),
        make("ladder", grid="0.5", tolerance=Decimal(10), limit=3),
        make("lives", grid="1", asks="strokes", lives=2, within=2),
        make("in_a_row", grid="1", asks="strokes", length=2),
        make("hole_out", Aim(length=Decimal(12), lie="sand"), times=2),
        make("on_the_number", limit=3),
        make("on_the_number", Aim(carry=Decimal("52.5")), grid="0.5", tolerance=Decimal(3)),
    ]
    return games


def name(game: AnyGame) -> str:
    """What a test calls this game."""
    aim = ",".join(f"{k}={v}" for k, v in game.aim.said.items())
    kept = ",".join(f"{k}={v}" for k, v in game.settings.model_dump(exclude_defaults=True).items())
    return f"{game.id}[{aim}][{kept}]"
