"""The heart: shots, aims, entries, games and runs. Pure: no input or output, clock or randomness.

A game file imports what it needs from here; names load on first use.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drillrunner.rules.game import AnyGame, Game
    from drillrunner.rules.outcome import Asks, Outcome, outcomes
    from drillrunner.rules.run import GIVEN_UP, Ball, Entry, Kind, Refused, Run
    from drillrunner.rules.score import Better, Score, beats
    from drillrunner.rules.settings import (
        Distance,
        Field,
        GreenDistance,
        PositiveDistance,
        Settings,
    )
    from drillrunner.rules.shot import Aim, Direction, NearLie, Seen, Shot
    from drillrunner.rules.station import Ask, Station
    from drillrunner.rules.units import Measure, Unit, on_green, spoken

_HOMES = {
    "game": ("AnyGame", "Game"),
    "outcome": ("Asks", "Outcome", "outcomes"),
    "run": ("GIVEN_UP", "Ball", "Entry", "Kind", "Refused", "Run"),
    "score": ("Better", "Score", "beats"),
    "settings": ("Distance", "Field", "GreenDistance", "PositiveDistance", "Settings"),
    "shot": ("Aim", "Direction", "NearLie", "Seen", "Shot"),
    "station": ("Ask", "Station"),
    "units": ("Measure", "Unit", "on_green", "spoken"),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}

__all__ = [
    "GIVEN_UP",
    "Aim",
    "AnyGame",
    "Ask",
    "Asks",
    "Ball",
    "Better",
    "Direction",
    "Distance",
    "Entry",
    "Field",
    "Game",
    "GreenDistance",
    "Kind",
    "Measure",
    "NearLie",
    "Outcome",
    "PositiveDistance",
    "Refused",
    "Run",
    "Score",
    "Seen",
    "Settings",
    "Shot",
    "Station",
    "Unit",
    "beats",
    "on_green",
    "outcomes",
    "spoken",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(name)
    return getattr(import_module(f"drillrunner.rules.{_HOME_OF[name]}"), name)
