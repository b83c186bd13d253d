"""How the screens say things: a drill as it is set, what it takes, a score, a time."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from drillrunner.catalogue.clubs import CLUBS, swing_title
from drillrunner.rules.refused import LOST_INSTEAD
from drillrunner.rules.units import Unit, numbered, on_green, spoken, text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.listing import Listed
    from drillrunner.rules.game import Ask, Score
    from drillrunner.rules.shot import Aim, NearLie
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import StoredRun

SPANS = (4, 6, 8, 10, 12, 16, 20, 30, 40, 50, 60, 80, 100, 120, 160, 200, 300, 400, 600, 1000)
"""Half-widths that a picture may have, in the drill's unit, so that it seldom changes its scale."""

BETTER = {"higher": "high is better", "lower": "low is better"}


def club(ident: str) -> str:
    """A club as it is called: `Driver` for `driver`."""
    known = CLUBS.get(ident)
    return known.label if known else ident


def score(value: Score) -> str:
    """A score as it is shown; a dash for none."""
    return "-" if value is None else text(value)


def scores(values: Iterable[Score]) -> str:
    """Several scores in a row."""
    return " · ".join(map(score, values))


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
        parts = [_stations(stations, unit)]
    for name, value in as_set.get("settings", {}).items():
        # What only the program reckons with is a list, and no words.
        if value is not None and not isinstance(value, list):
            parts.append(_setting(name.replace("_", " "), value))
    if as_set.get("between"):
        parts.append(f"{club(as_set['between']).lower()} in between")
    return " · ".join(parts) or "as it comes"


def _stations(stations: Sequence[Mapping[str, Any]], unit: Unit) -> str:
    """Several stations in a few words: `carry 40, 50, 60 yd`, or how many there are."""
    aims = [station.get("aim", {}) for station in stations]
    carries = [aim.get("carry") for aim in aims]
    if all(isinstance(carry, int | float) for carry in carries):
        return f"carry {', '.join(map(_number, carries))} {unit}"
    lengths, lies = [aim.get("length") for aim in aims], {aim.get("lie") for aim in aims}
    if len(lies) == 1 and all(isinstance(length, int | float) for length in lengths):
        return _reach(", ".join(map(_number, lengths)), lies.pop(), unit)
    return f"{len(stations)} stations"


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


def station(ask: Ask) -> str:
    """What a ball is asked to do, in a few words: `Sand wedge, half · carry 50 yd`."""
    aim, unit = ask.aim, ask.unit
    swing = "" if ask.swing == "full" else f", {ask.swing}"
    parts = [f"{club(ask.club)}{swing}"]
    if ask.title and ask.title != ask.swing:
        parts.append(ask.title)
    if aim.carry is not None:
        parts.append(f"carry {text(aim.carry)} {unit}")
    if aim.width is not None:
        parts.append(f"{text(aim.width)} {unit} wide")
    if aim.depth is not None:
        parts.append(f"{text(aim.depth)} {unit} deep")
    parts.append(reach(aim, unit))
    return " · ".join(filter(None, parts))


def entitled(playing: Playing) -> str:
    """The title line of a run: the drill and how it is set; where its target moves, the one due."""
    drill, run = playing.drill, playing.run
    if run.game.moves:
        # First what a narrow window must not cut off.
        return f"{station(run.ask)} · {drill.title}"
    return f"{drill.title} · {club(drill.club)} · {setting(drill.setting())}"


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
        return (
            numbered(value, {"lives": "life"}.get(name, name[:-1]))
            if value == 1
            else f"{value} {name}"
        )
    return f"{name} {plain}"


def _number(value: Any) -> str:
    return text(value) if isinstance(value, Decimal | float) else str(value)


def briefly(drill: Drill | Listed) -> str:
    """A drill in the few columns of a phone: how wide or far, how many lives, how many minutes."""
    minutes = "" if drill.minutes is None else f"{drill.minutes} min"
    as_set = drill.setting if isinstance(drill.setting, Mapping) else drill.setting()
    return " · ".join(filter(None, (setting(as_set), minutes)))


def takes(drill: Drill | Listed) -> str:
    """What a drill takes, roughly: `about 10 balls, 5 min`; empty if its file does not say."""
    parts = []
    if drill.balls is not None:
        parts.append(f"{numbered(drill.balls, 'ball')}")
    if drill.minutes is not None:
        parts.append(f"{drill.minutes} min")
    return f"about {', '.join(parts)}" if parts else ""


def when(moment: datetime, now: datetime) -> str:
    """A time as a person reads it: the clock today, else the day, with the year if not this."""
    there = moment.astimezone(now.tzinfo)
    if there.date() == now.date():
        return f"today {there:%H:%M}"
    if there.year == now.year:
        return f"{there:%a} {there.day} {there:%b}"
    return f"{there.day} {there:%b} {there.year}"


def ending(run: StoredRun) -> str:
    """How a run stands, in words."""
    balls = numbered(run.counted, "ball")
    void = f", {run.voided} void" if run.voided else ""
    return f"{run.stands} · {balls}{void}"


def whole_setting(run: StoredRun) -> Mapping[str, Any]:
    """A run's drill as it was set, with every setting filled in."""
    found: Mapping[str, Any] = json.loads(run.as_set)
    return found


COLD_BALLS = "The first balls of a day fall short, and would make your stock carry short too."


def title_of(of_club: str, swing: str) -> str:
    """A club and a swing as they are called."""
    return swing_title(of_club, swing)


def brief(drill: Drill) -> str:
    """What to do, before the first ball: what the drill is about, and the swing if not full."""
    swings = dict.fromkeys(s.swing for s in drill.stations if s.swing != "full")
    return " ".join((drill.about, *(f"Swing: {swing}." for swing in swings))).strip()


def counting(ask: Ask) -> str:
    """What counts, and what to type for a ball that is lost, topped or never got there."""
    if ask.asks == "miss":
        if ask.lost_counts is None:
            return f"A lost ball has no number of its own here: {LOST_INSTEAD}."
        most = f"{text(ask.lost_counts)} {spoken(ask.unit)}"
        return f"A lost ball counts {most}: its sign alone (- or +) and Enter."
    if ask.asks == "strokes":
        return "Every stroke counts until the ball is holed, putts too. More than nine: 9."
    if ask.asks == "leave":
        return f"Holed is 0. What is left is read by eye, in {spoken(ask.measure)}."
    if ask.asks == "call":
        return (
            "Say the carry off the face, before you look: type it, Enter. Then type how far it "
            "flew. Topped and lost count too: your best guess."
        )
    if ask.asks == "carry":
        return "Topped: type how far it flew. Lost: your best guess, or hit another instead."
    if ask.aim.judged == ("lateral",):
        return (
            "Only left and right count: a ball that is short or long counts by its line. Topped, "
            "lost, or short of where a fairway begins: that is your call, and 0 makes it out."
        )
    if ask.aim.judged == ("depth",):
        return "Only short and long count. Topped is short; lost is out: 0."
    return "Left, right, short and long all count. Topped is short; lost is out: 0."


def off(miss: float, across: bool, unit: str = "") -> str:
    """A miss with its side: `4.2 yd left`; `0.0` has none."""
    low, high = ("left", "right") if across else ("short", "long")
    size = f"{abs(miss):.1f}"
    side = "" if float(size) == 0 else low if miss < 0 else high
    return " ".join(filter(None, (size, unit, side)))


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
