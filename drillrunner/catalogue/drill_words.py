"""How a drill is set, in the words of a golfer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.units import Unit, on_green, text

if TYPE_CHECKING:
    from drillrunner.rules.shot import Aim, NearLie


def club(ident: str) -> str:
    """A club as it is called: `Driver` for `driver`."""
    known = CLUBS.get(ident)
    return known.label if known else ident


def setting(as_set: Mapping[str, Any]) -> str:
    """A drill as it is set, in a line: `40 yd wide · 3 lives`.

    as_set: an object as `Drill.setting()` or `Drill.as_set()` gives.
    """
    unit, aim = as_set.get("unit", "yd"), as_set.get("aim", {})
    parts = []
    if aim.get("carry") == "stock":
        parts.append("your stock carry")
    elif "carry" in aim:
        parts.append(f"carry {_number(aim['carry'])} {unit}")
    if "width" in aim:
        parts.append(f"{_number(aim['width'])} {unit} wide")
    if "depth" in aim:
        parts.append(f"{_number(aim['depth'])} {unit} deep")
    if "length" in aim and "lie" in aim:
        parts.append(_reach(_number(aim["length"]), aim["lie"], unit))
    if stations := as_set.get("stations"):
        # As a drill is written, its stations share what it says of the aim once for all.
        parts = [_stations([{**aim, **one.get("aim", {})} for one in stations], unit)]
    for name, value in as_set.get("settings", {}).items():
        # What only the program reckons with is a list, and no words.
        if value is not None and not isinstance(value, list):
            parts.append(_setting(name.replace("_", " "), value))
    if as_set.get("between"):
        parts.append(f"{club(as_set['between']).lower()} in between")
    return " · ".join(parts) or "as it comes"


def _stations(aims: Sequence[Mapping[str, Any]], unit: Unit) -> str:
    """Several stations in a few words: `carry 40, 50, 60 yd`, or how many there are."""
    carries = [aim.get("carry") for aim in aims]
    if all(isinstance(carry, int | float) for carry in carries):
        return f"carry {', '.join(map(_number, carries))} {unit}"
    lengths, lies = [aim.get("length") for aim in aims], {aim.get("lie") for aim in aims}
    lie = lies.pop() if len(lies) == 1 else None
    if lie is not None and all(isinstance(length, int | float) for length in lengths):
        return _reach(", ".join(map(_number, lengths)), lie, unit)
    return f"{len(aims)} stations"


FROM: dict[NearLie, str] = {
    "green": "putt of {} {}",
    "fringe": "{} {} from the fringe",
    "rough": "{} {} from rough",
    "sand": "{} {} from sand",
}


def reach(aim: Aim, unit: Unit) -> str:
    """From where a ball is played to the hole: `putt of 10 ft`, `15 yd from sand`."""
    if aim.length is None or aim.lie is None:
        return ""
    return _reach(text(aim.length), aim.lie, unit)


def _reach(length: str, lie: NearLie, unit: Unit) -> str:
    return FROM[lie].format(length, on_green(unit) if lie == "green" else unit)


SINGLE = {"lives": "life"}
COUNTED = {"2": "two", "3": "three", "4": "four", "5": "five", "6": "six"}

SETTINGS: dict[str, Callable[[str], str]] = {
    "length": lambda value: f"{COUNTED.get(value, value)} in a row",
    "limit": lambda value: f"at most {value} ball{'' if value == '1' else 's'}",
    "tolerance": lambda value: "exactly" if value == "0" else f"to within {value}",
    "narrower": lambda value: f"{value} less each time",
    "floor": lambda value: f"down to {value}",
    "within": lambda value: "holed" if value == "1" else f"in {value} or fewer",
    "times": lambda value: f"{value} times round",
    "cap": lambda value: f"counts at most {value}",
    "axis": lambda value: {"lateral": "left and right", "depth": "short and long"}[value],
}
"""How settings of games are said whose names in a drill's file are no golfer's words."""


def _setting(name: str, value: Any) -> str:
    """One setting of a game as it is said: `3 lives`, `counts at most 40`, `left and right`."""
    plain = value if isinstance(value, str) else _number(value)
    if name in SETTINGS:
        return SETTINGS[name](plain)
    if isinstance(value, str):
        return value
    if isinstance(value, int) and name.endswith("s"):
        return f"1 {SINGLE.get(name, name[:-1])}" if value == 1 else f"{value} {name}"
    return f"{name} {plain}"


def _number(value: Any) -> str:
    return text(value) if isinstance(value, Decimal | float) else str(value)


def dial(field: str) -> str:
    """What makes a drill easier or harder, in words: `width` for `aim.width`."""
    name = field.rpartition(".")[2]
    return {"tolerance": "how near", "length": "how many in a row"}.get(name, name)


def dialled(field: str, value: Any) -> str:
    """A drill at one value of that, after `play it`: `at width 25`, `to within 2`."""
    name = field.rpartition(".")[2]
    if name in SETTINGS:
        return SETTINGS[name](_number(value))
    return f"at {dial(field)} {_number(value)}"
