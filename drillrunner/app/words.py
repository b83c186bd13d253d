"""How the screens say things: a drill as it is set, what it takes, a score, a time."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from drillrunner.catalogue.clubs import swing_title
from drillrunner.catalogue.drill_words import club as club
from drillrunner.catalogue.drill_words import dial as dial
from drillrunner.catalogue.drill_words import dialled as dialled
from drillrunner.catalogue.drill_words import reach as reach
from drillrunner.catalogue.drill_words import setting as setting
from drillrunner.rules.refused import LOST_INSTEAD
from drillrunner.rules.units import numbered, spoken, text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.listing import Listed
    from drillrunner.rules.score import Score
    from drillrunner.rules.station import Ask
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import StoredRun

SPANS = (4, 6, 8, 10, 12, 16, 20, 30, 40, 50, 60, 80, 100, 120, 160, 200, 300, 400, 600, 1000)
"""Half-widths that a picture may have, in the drill's unit, so that it seldom changes its scale."""

BETTER = {"higher": "high is better", "lower": "low is better"}


def score(value: Score) -> str:
    """A score as it is shown; a dash for none."""
    return "-" if value is None else text(value)


def scores(values: Iterable[Score]) -> str:
    """Several scores in a row."""
    return " · ".join(map(score, values))


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


def whole_sentences(said: str, width: int, lines: int = 2) -> str:
    """As many sentences of a text as fit on so many lines, at least the first, which says what a
    drill is for: none is cut off in its middle.
    """
    found = ""
    for sentence in said.replace(". ", ".\n").split("\n"):
        longer = f"{found} {sentence}".strip()
        if found and len(wrap(longer, max(width, 1))) > lines:
            break
        found = longer
    return found


def brief(drill: Drill) -> str:
    """What to do, before the first ball: what the drill is about, and the swing if not full."""
    swings = dict.fromkeys(s.swing for s in drill.stations if s.swing != "full")
    many = "Swings" if len(swings) > 1 else "Swing"
    return f"{drill.about} {many}: {', '.join(swings)}.".strip() if swings else drill.about.strip()


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
            "lost, or far too short: that is your call, and 0 makes it out."
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
