"""A hole of a round as a player tells it afterwards, and whether what is told adds up.

Nothing but the number of the hole must be known. Lengths are in the course's unit, the first putt
in feet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal, get_args

TeeShot = Literal[
    "fairway", "left", "right", "left-trees", "right-trees", "short", "penalty", "lost"
]
Result = Literal[
    "on",
    "left",
    "right",
    "long",
    "short",
    "long-left",
    "long-right",
    "short-left",
    "short-right",
]
LeftLie = Literal["rough", "sand", "fairway"]
Form = Literal["full", "putts", "score"]

TEE_SHOTS: tuple[TeeShot, ...] = get_args(TeeShot)
RESULTS: tuple[Result, ...] = get_args(Result)
LEFT_LIES: tuple[LeftLie, ...] = get_args(LeftLie)
FORMS: tuple[Form, ...] = get_args(Form)

MOST_STROKES = 99


@dataclass(frozen=True, slots=True)
class HolePlayed:
    """One hole; `None` is not known.

    tee: where the tee shot ended; `penalty` is one stroke and a drop, `lost` stroke and distance.
    number: which stroke the first one meant for the green was, penalties not counted. approach:
    how far from. left, lie: how far away, and on what, a ball lay that missed. putt: feet of the
    first putt. penalties: all penalty strokes of the hole, the tee shot's too. club: hit from the
    tee, told where it was not the usual one.
    """

    hole: int
    tee: TeeShot | None = None
    number: int | None = None
    approach: Decimal | None = None
    result: Result | None = None
    left: Decimal | None = None
    lie: LeftLie | None = None
    putt: Decimal | None = None
    putts: int | None = None
    penalties: int | None = None
    score: int | None = None
    club: str | None = None

    @property
    def off(self) -> bool | None:
        """Whether the shot meant for the green missed it."""
        return None if self.result is None else self.result != "on"

    @property
    def tee_penalties(self) -> int:
        """Penalty strokes of the tee shot."""
        return int(self.tee in ("penalty", "lost"))

    @property
    def all_penalties(self) -> int:
        """Penalty strokes of the hole; the tee shot's own where nothing else is said."""
        return self.tee_penalties if self.penalties is None else self.penalties

    def strokes_before(self, par: int) -> int:
        """Strokes played before the first one meant for the green, penalties not counted.

        A lost tee shot is played again, so that one stroke more comes before.
        """
        if self.number is not None:
            return self.number - 1
        return max(par - 2, 1) - 1 + int(self.tee == "lost")

    def around(self, par: int) -> int | None:
        """Strokes between the one meant for the green and the first putt; `None`: not known."""
        if self.score is None or self.putts is None or self.result is None:
            return None
        return self.score - self.strokes_before(par) - 1 - self.putts - self.all_penalties

    def likely_score(self, par: int) -> int | None:
        """What the rest of the hole comes to, one stroke off the green if it was missed."""
        if self.putts is None or self.result is None:
            return None
        holed = self.result == "on" or (self.putts == 0 and self.putt is None and self.left == 0)
        around = 0 if holed else 1
        return self.strokes_before(par) + 1 + around + self.putts + self.all_penalties

    def settled(self, par: int) -> HolePlayed:
        """The hole with the score that follows, where none was told."""
        return self if self.score is not None else replace(self, score=self.likely_score(par))

    def form(self, par: int) -> Form | None:
        """How much is known: all that a split of the strokes needs, the putts, or the score."""
        if self.score is None:
            return None
        told = self.putts is not None and (self.putts == 0 or self.putt is not None)
        if told and self.result is not None and (par == 3 or self.approach_told):
            return "full"
        return "putts" if told else "score"

    @property
    def approach_told(self) -> bool:
        """Whether it is known where the tee shot lay and how far the next one was."""
        return self.tee is not None and self.approach is not None

    def faults(self, par: int) -> Mapping[str, str]:
        """What can't be: field to reason. Empty where the hole adds up."""
        found = self._out_of_range(par)
        if found:
            return found
        if (self.left is not None or self.lie is not None) and self.result == "on":
            found["left"] = "expected nothing: the ball is on the green"
        if self.penalties is not None and self.penalties < self.tee_penalties:
            found["penalties"] = f"expected at least 1: the tee shot was {self.tee!r}"
        if self.putt is not None and self.putts == 0:
            found["putts"] = "expected at least 1: a first putt is told"
        found.update(self._sum(par))
        return found

    def _out_of_range(self, par: int) -> dict[str, str]:
        most: dict[str, tuple[int | None, int, int]] = {
            "number": (self.number, 1, 20),
            "putts": (self.putts, 0, 20),
            "penalties": (self.penalties, 0, 20),
            "score": (self.score, 1, MOST_STROKES),
        }
        found = {
            name: f"expected {low} to {high}, not {value}"
            for name, (value, low, high) in most.items()
            if value is not None and not low <= value <= high
        }
        lengths = {
            "approach": (self.approach, 700),
            "left": (self.left, 700),
            "putt": (self.putt, 300),
        }
        for name, (length, longest) in lengths.items():
            if length is not None and not (0 <= length <= longest):
                found[name] = f"expected 0 to {longest}, not {length}"
        if self.putt is not None and self.putt == 0:
            found["putt"] = "expected more than 0: a ball in the hole has no putt"
        return found

    def _sum(self, par: int) -> dict[str, str]:
        if self.score is None:
            return {}
        around = self.around(par)
        if around is None:
            least = (self.putts or 0) + self.all_penalties + (0 if self.putts else 1)
            if self.score < least:
                return {"score": f"expected at least {least}: putts and penalties come to that"}
            return {}
        told = self.score - around
        if self.off is False and around:
            return {"score": f"expected {told}: strokes to the green, putts and penalties"}
        if self.off and around <= 0:
            return {"score": f"expected at least {told + 1}: the green was missed"}
        return {}
