"""A hole typed on the number block after the round: what each key does, and what is asked next.

Pure. Nothing is asked twice, and Enter takes the likely answer: what was told of the hole before,
else what follows from the rest. Where the ball lies is seen from where it was hit, as on the block:
5 on the fairway or the green, 4 and 6 beside it, the corners further away.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from drillrunner.rules.card import Form, HolePlayed, LeftLie, Result, TeeShot
from drillrunner.rules.refused import Refused
from drillrunner.rules.units import text

CardField = Literal["tee", "approach", "result", "left", "putt", "putts", "score"]
SHORT_HOLE = 3
"""Par of a hole whose tee shot is meant for the green: neither that nor its length is asked."""

FEET_IN_A_METRE = 1 / Decimal("0.3048")
"""International foot: 0.3048 m exactly (1959; NIST SP 811)."""

FIELDS: Mapping[Form, tuple[CardField, ...]] = {
    "full": ("tee", "approach", "result", "left", "putt", "putts", "score"),
    "putts": ("putt", "putts", "score"),
    "score": ("score",),
}
TEE_KEYS: Mapping[str, TeeShot] = {
    "5": "fairway",
    "4": "left",
    "6": "right",
    "1": "left-trees",
    "3": "right-trees",
    "2": "short",
}
RESULT_KEYS: Mapping[str, Result] = {
    "5": "on",
    "4": "left",
    "6": "right",
    "8": "long",
    "2": "short",
    "7": "long-left",
    "9": "long-right",
    "1": "short-left",
    "3": "short-right",
}
LIE_SIGNS: Mapping[str, LeftLie] = {"": "rough", "/": "sand", "//": "fairway"}
DIGITS = {"approach": 3, "left": 3, "putt": 3, "score": 2}


@dataclass(frozen=True)
class HoleLine:
    """A hole as far as it has been typed.

    known: what was told of it before. received: strokes that the player gets there. metres: how
    putts are typed. bag: ids of the clubs that `+` turns through, from the usual one on this tee.
    typed: the line that waits for Enter. penalty: whether 1 or 2 is awaited now, one stroke and a
    drop, or stroke and distance. before: the state that taking back leads to.
    """

    hole: int
    par: int
    form: Form
    known: HolePlayed | None = None
    received: int = 0
    metres: bool = False
    bag: tuple[str, ...] = ()
    told: HolePlayed | None = None
    at: CardField = "score"
    typed: str = ""
    penalty: bool = False
    done: bool = False
    before: HoleLine | None = None

    @classmethod
    def begin(
        cls,
        hole: int,
        par: int,
        form: Form,
        known: HolePlayed | None = None,
        received: int = 0,
        metres: bool = False,
        bag: Sequence[str] = (),
    ) -> HoleLine:
        """A hole of which nothing has been typed yet."""
        told = HolePlayed(hole, club=None if known is None else known.club)
        line = cls(hole, par, form, known, received, metres, tuple(bag), told)
        return replace(line, at=line._asked[0])

    @property
    def now(self) -> HolePlayed:
        """What has been told so far."""
        return self.told or HolePlayed(self.hole)

    @property
    def _asked(self) -> tuple[CardField, ...]:
        """What is asked of this hole, as far as it is told."""
        asked = FIELDS[self.form]
        if self.par == SHORT_HOLE:
            asked = tuple(name for name in asked if name not in ("tee", "approach"))
        if self.now.result in (None, "on"):
            asked = tuple(name for name in asked if name != "left")
        if self.now.putts == 0 and self.now.putt is None:
            asked = tuple(name for name in asked if name != "putts")
        return asked

    # ---- what Enter takes ----

    @property
    def likely(self) -> str:
        """What Enter takes of an empty line, as it would be typed; empty for not known."""
        told = "" if self.known is None else _typed(self.known, self.at, self.metres)
        if told:
            return told
        if self.at == "score":
            return str(self._likely_score)
        return ""

    @property
    def _likely_score(self) -> int:
        worked_out = self.now.likely_score(self.par)
        if worked_out is not None:
            return worked_out
        if self.now.putts is not None:
            return max(self.par - 2, 1) + self.now.putts + max(self.received, 0)
        return max(self.par + self.received, 1)

    @property
    def turns_club(self) -> bool:
        """Whether the tee shot is being told, and there are clubs to choose from."""
        return len(self.bag) > 1 and self.at == ("result" if self.par == SHORT_HOLE else "tee")

    def _next_club(self) -> HoleLine:
        now = self.now.club
        at = self.bag.index(now) if now in self.bag else 0
        club = self.bag[(at + 1) % len(self.bag)]
        told = replace(self.now, club=None if club == self.bag[0] else club)
        return replace(self, told=told, before=self)

    # ---- keys ----

    def back(self) -> HoleLine | None:
        """The line with its last answer taken back; `None` at the first question."""
        if self.typed:
            return replace(self, typed=self.typed[:-1])
        if self.penalty:
            return replace(self, penalty=False)
        return self.before

    def press(self, key: str) -> tuple[HoleLine, str]:
        """The line after a key (a character, or `enter`), and why it meant nothing, if so."""
        if self.penalty:
            return self._penalty(key)
        if key == "enter":
            return self._enter()
        if key == "+" and self.turns_club:
            return self._next_club(), ""
        match self.at:
            case "tee" if key in TEE_KEYS:
                return self._taken(tee=TEE_KEYS[key]), ""
            case "result" if key in RESULT_KEYS:
                return self._taken(result=RESULT_KEYS[key]), ""
            case "tee" | "result" if key == "0":
                return replace(self, penalty=True), ""
            case "putts" if key.isdigit():
                return self._counted(key)
            case "approach" | "left" | "putt" | "score":
                return self._character(key)
        return self, f"{key} means nothing here: {EXPECTS[self.at]}"

    def answer(self, text: str) -> HoleLine:
        """The line after a whole answer, with the Enter that it wants; Enter alone if empty.

        Raises Refused.
        """
        line: HoleLine = self
        for key in text or ("enter",):
            line, why = line.press(key)
            if why:
                raise Refused(f"{text!r}: {why}")
        if not line.typed:
            return line
        line, why = line.press("enter")
        if why:
            raise Refused(f"{text!r}: {why}")
        return line

    def _penalty(self, key: str) -> tuple[HoleLine, str]:
        if key not in "12" or len(key) != 1:
            return self, "1 one stroke and a drop, 2 stroke and distance"
        bare = replace(self, penalty=False)
        if self.at == "tee":
            return bare._taken(tee="penalty" if key == "1" else "lost"), ""
        penalties = self.now.all_penalties + 1
        changes: dict[str, Any] = {"penalties": penalties}
        if key == "2":
            # Played again: the one that counts is a stroke later.
            changes["number"] = self.now.strokes_before(self.par) + 2
        return replace(bare, told=replace(self.now, **changes), before=bare), ""

    def _character(self, key: str) -> tuple[HoleLine, str]:
        signs = {"approach": "+-", "left": "/"}.get(self.at, "")
        if key in signs and not self.typed.strip(signs) and len(self.typed) < 2:
            return replace(self, typed=self.typed + key), ""
        if key in ".," and self.at == "putt" and self.metres and self.typed:
            longer = self.typed + "." if "." not in self.typed else self.typed
            return replace(self, typed=longer), ""
        digits = self.typed.strip("+-/")
        if not key.isdigit() or len(key) != 1:
            return self, f"{key} means nothing here: {EXPECTS[self.at]}"
        if len(digits.replace(".", "")) >= DIGITS[self.at]:
            return self, f"{digits}{key} is too long: {EXPECTS[self.at]}"
        return replace(self, typed=self.typed + key), ""

    def _enter(self) -> tuple[HoleLine, str]:
        taken = self.typed or self.likely
        if self.at in ("tee", "result", "putts"):
            return self._as_before(), ""
        if self.at == "score":
            return self._score(int(taken or 0))
        if not taken.strip("+-/."):
            return self._unknown(taken)
        if self.at == "approach":
            number = self._number(taken)
            return self._lengthy(approach=_length(taken), number=number)
        if self.at == "left":
            lie = LIE_SIGNS["/" * taken.count("/")]
            return self._lengthy(left=_length(taken), lie=lie)
        return self._lengthy(putt=self._feet(taken))

    def _as_before(self) -> HoleLine:
        """The line with what was told of this before; not known, where nothing was."""
        if self.known is None:
            return self._taken()
        told: dict[str, Any] = {self.at: getattr(self.known, self.at)}
        if self.at == "result":
            later = self.known.all_penalties - self.known.tee_penalties
            if later:
                told["penalties"] = later + self.now.tee_penalties
            told["number"] = self.now.number or self.known.number
        return self._taken(**told)

    def _number(self, taken: str) -> int | None:
        usual = self.now.strokes_before(self.par) + 1
        by = taken.count("+") - taken.count("-")
        return usual + by if by else self.now.number

    def _feet(self, taken: str) -> Decimal:
        length = _length(taken)
        if not self.metres:
            return length
        return (length * FEET_IN_A_METRE).quantize(Decimal("0.01")).normalize()

    def _unknown(self, taken: str) -> tuple[HoleLine, str]:
        """Enter alone: a length that is not known; no first putt where the ball went in before."""
        if self.at == "left" and taken:
            return self._taken(lie=LIE_SIGNS[taken]), ""
        if self.at == "putt" and self.now.off:
            return self._taken(putts=0), ""
        return self._taken(), ""

    def _lengthy(self, **told: Any) -> tuple[HoleLine, str]:
        line = self._taken(**told)
        wrong = {name: why for name, why in line.now.faults(self.par).items() if name != "score"}
        for name in ("number", "approach", "left", "putt"):
            if name in wrong and name in told:
                return self, f"{name}: {wrong[name]}"
        return line, ""

    def _counted(self, key: str) -> tuple[HoleLine, str]:
        if key == "0" and self.now.putt is not None:
            return self, "a first putt was told: expected 1 putt or more"
        return self._taken(putts=int(key)), ""

    def _score(self, score: int) -> tuple[HoleLine, str]:
        told = replace(self.now, score=score)
        wrong = told.faults(self.par)
        if wrong:
            name, why = next(iter(wrong.items()))
            return replace(self, typed=""), f"{name}: {why}"
        return replace(self, told=told, typed="", done=True, before=replace(self, typed="")), ""

    def _taken(self, **told: Any) -> HoleLine:
        """The line one question on."""
        here = replace(self, typed="")
        line = replace(here, told=replace(self.now, **told), before=here)
        asked = [name for name in FIELDS[self.form] if name in line._asked]
        order = FIELDS[self.form]
        after = [name for name in asked if order.index(name) > order.index(self.at)]
        return replace(line, at=after[0] if after else "score")


EXPECTS: Mapping[CardField, str] = {
    "tee": "5 fairway, 4 6 beside it, 1 3 in the trees, 2 short, 0 penalty",
    "approach": "yards or metres to the green, then Enter",
    "result": "5 on the green, 4 6 8 2 beside it, 7 9 1 3 the corners, 0 penalty",
    "left": "how far is left, then Enter; / sand, // short grass",
    "putt": "how long the first putt was, then Enter",
    "putts": "how many putts, one key",
    "score": "the score, then Enter",
}
"""What can be typed for each, in a line."""


def _length(typed: str) -> Decimal:
    return Decimal(typed.strip("+-/").rstrip(".") or 0)


def _typed(hole: HolePlayed, field: CardField, metres: bool) -> str:
    """What was told of a hole, as it would be typed; empty for not known."""
    if field in ("tee", "result"):
        keys: Mapping[str, str] = TEE_KEYS if field == "tee" else RESULT_KEYS
        told = getattr(hole, field)
        return next((key for key, means in keys.items() if means == told), "")
    if field == "left" and hole.left is not None:
        signs = {lie: sign for sign, lie in LIE_SIGNS.items()}
        return signs[hole.lie or "rough"] + text(hole.left)
    if field == "putt" and hole.putt is not None and metres:
        return text((hole.putt / FEET_IN_A_METRE).quantize(Decimal("0.1")).normalize())
    value = getattr(hole, field)
    return "" if value is None else text(value)
