"""A hole and a round in words, for the screens of rounds."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from drillrunner.catalogue.courses import Course, Tee
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.card_keys import FEET_IN_A_METRE, CardField, HoleLine
from drillrunner.rules.units import Unit, numbered, spoken, text

TEE_WORDS = {
    "fairway": "fairway",
    "left": "rough left",
    "right": "rough right",
    "left-trees": "trees left",
    "right-trees": "trees right",
    "short": "short off the tee",
    "penalty": "penalty and drop",
    "lost": "lost and replayed",
}
LIE_WORDS = {"rough": "", "sand": " in sand", "fairway": " on short grass"}

ASKED: Mapping[CardField, str] = {
    "tee": "tee shot",
    "approach": "{unit} to the green",
    "result": "where it went",
    "left": "{unit} left",
    "putt": "first putt, {putt}",
    "putts": "putts",
    "score": "score",
}
"""What is asked, in a few words."""

KEY_WORDS: Mapping[CardField, Mapping[str, str]] = {
    "tee": {
        "5": "fairway", "4": "left", "6": "right", "1": "trees", "3": "trees", "2": "short",
        "0": "penalty",
    },
    "approach": {"minus": "earlier", "plus": "later"},
    "result": {
        "5": "on", "4": "left", "6": "right", "8": "long", "2": "short", "7": "↖", "9": "↗",
        "1": "↙", "3": "↘", "0": "penalty",
    },
    "left": {"slash": "sand"},
    "putt": {},
    "putts": {},
    "score": {},
}  # fmt: skip
PENALTY_WORDS = {"1": "drop", "2": "replay"}


def asked_words(line: HoleLine, unit: Unit, clubs: Mapping[str, str]) -> str:
    """What is asked now, and what Enter takes. clubs: what each is called, by id."""
    if line.penalty:
        return "1 drop, 2 stroke and distance"
    said = ASKED[line.at].format(unit=spoken(unit), putt="metres" if line.metres else "feet")
    if line.turns_club and line.now.club:
        said = f"{said}, {clubs.get(line.now.club, line.now.club)}"
    if line.typed:
        return f"{line.typed}▏ {said}"
    if line.likely and line.at not in ("tee", "result"):
        return f"{said}: {line.likely}?"
    return said


def key_words(line: HoleLine) -> dict[str, str]:
    """The word under each drawn key: name of the key to a short word."""
    words = {"asterisk": "undo", "backspace": "undo", "full_stop": "menu"}
    if line.penalty:
        return words | PENALTY_WORDS
    words |= KEY_WORDS[line.at]
    if line.turns_club:
        words["plus"] = "club"
    known = line.known is not None and getattr(line.known, line.at) is not None
    words["enter"] = "take" if line.typed else line.likely or ("as told" if known else "unknown")
    if line.at == "putt" and line.now.off and not line.typed and not line.likely:
        words["enter"] = "no putt"
    return words


def told_words(hole: HolePlayed, unit: Unit, metres: bool, clubs: Mapping[str, str]) -> str:
    """What is known of a hole, in the order in which it was played. clubs: as they are called."""
    parts = []
    club = "" if hole.club is None else clubs.get(hole.club, hole.club)
    if hole.tee is not None or club:
        parts.append(f"{club} {TEE_WORDS.get(hole.tee or '', '')}".strip())
    if hole.approach is not None:
        parts.append(f"{text(hole.approach)} {unit}")
    if hole.result is not None:
        missed = hole.result in ("left", "right")
        went = hole.result.replace("-", " ")
        parts.append("on" if hole.result == "on" else f"missed {went}" if missed else went)
    if hole.left is not None or hole.lie not in (None, "rough"):
        left = "" if hole.left is None else f"{text(hole.left)} {unit} to go"
        parts.append(f"{left}{LIE_WORDS[hole.lie or 'rough']}".strip())
    if hole.penalties:
        parts.append(numbered(hole.penalties, "penalty stroke"))
    first = "" if hole.putt is None else _putt(hole.putt, metres)
    if hole.putts is not None:
        parts.append(numbered(hole.putts, "putt") + (f" from {first}" if first else ""))
    elif first:
        parts.append(f"putt of {first}")
    return ", ".join(parts)


def worked_out_words(hole: HolePlayed, par: int) -> str:
    """What follows from what is known: the strokes from the missed green to the first putt."""
    around = hole.around(par)
    return f"{around} off the green" if around else ""


def _putt(feet: Decimal, metres: bool) -> str:
    if metres:
        return f"{text((feet / FEET_IN_A_METRE).quantize(Decimal('0.1')).normalize())} m"
    return f"{text(feet)} ft"


def length_of(course: Course, number: int, tee: Tee) -> int:
    """The length of a hole from a tee, in the course's unit."""
    return tee.lengths[number - 1] if tee.lengths else course.holes[number - 1].length
