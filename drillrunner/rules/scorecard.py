"""A round as it was told, piece by piece: the fold of what was told, as a run is of its entries.

Nothing that was told is changed. A hole that is told again is corrected; a round that is taken out
stays, marked, and can be put back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Literal, get_args

from drillrunner.rules.card import FORMS, LEFT_LIES, RESULTS, TEE_SHOTS, Form, HolePlayed
from drillrunner.rules.units import plain

CardFact = Literal["hole", "order", "pcc", "shown", "finished", "taken out", "put back"]
"""What can be told: a hole; the place within the day; the playing conditions; the differential that
the club shows; that all is told; that the round counts no more, and that it does again."""
CARD_FACTS: tuple[CardFact, ...] = get_args(CardFact)

CARD_LENGTHS = ("approach", "left", "putt")
LONGEST_CLUB = 60
COUNTS = ("number", "putts", "penalties", "score")
CHOICES: Mapping[str, tuple[str, ...]] = {"tee": TEE_SHOTS, "result": RESULTS, "lie": LEFT_LIES}


@dataclass(frozen=True)
class Scorecard:
    """What is in force of all that was told.

    holes: by number. order: of rounds of one day, the lower first; `None` as they were told.
    pcc: playing conditions calculation. shown: the differential that the club or the association
    shows, as typed. out: taken out of the record.
    """

    holes: Mapping[int, HolePlayed] = field(default_factory=dict)
    order: int | None = None
    pcc: int = 0
    shown: Decimal | None = None
    finished: bool = False
    out: bool = False

    def after(self, kind: str, data: Mapping[str, Any]) -> Scorecard:
        """The card after one more thing was told. Raises ValueError for what can't be."""
        if kind == "hole":
            hole = hole_of(data)
            return replace(self, holes={**self.holes, hole.hole: hole})
        return self._otherwise(kind, data)

    def _otherwise(self, kind: str, data: Mapping[str, Any]) -> Scorecard:
        match kind:
            case "order":
                return replace(self, order=_whole("order", data.get("order")))
            case "pcc":
                return replace(self, pcc=_whole("pcc", data.get("pcc")) or 0)
            case "shown":
                return replace(self, shown=_length("differential", data.get("differential")))
            case "finished":
                return replace(self, finished=True)
            case "taken out" | "put back":
                return replace(self, out=kind == "taken out")
        raise ValueError(f"{kind!r:.40}: expected one of {', '.join(CARD_FACTS)}")

    def form(self, pars: Mapping[int, int]) -> Form:
        """How much is known of all holes told: the least that any of them tells."""
        known = [hole.form(pars[number]) or "score" for number, hole in self.holes.items()]
        return max(known, key=FORMS.index, default="score")


def card_of(told: Iterable[tuple[str, Mapping[str, Any]]]) -> Scorecard:
    """The card that was told, from kinds and data in their order. Raises ValueError."""
    card = Scorecard()
    holes: dict[int, HolePlayed] = {}
    for kind, data in told:
        if kind == "hole":
            hole = hole_of(data)
            holes[hole.hole] = hole
        else:
            card = card._otherwise(kind, data)
    return replace(card, holes=dict(sorted(holes.items())))


def told_hole(hole: HolePlayed) -> dict[str, Any]:
    """A hole as it is kept; what is not known is left out."""
    names = ("hole", *CHOICES, *CARD_LENGTHS, *COUNTS, "club")
    known = {name: getattr(hole, name) for name in names}
    return {
        name: plain(value) if isinstance(value, Decimal) else value
        for name, value in known.items()
        if value is not None
    }


def hole_of(data: Mapping[str, Any]) -> HolePlayed:
    """The hole that `told_hole` kept. Raises ValueError for what is none."""
    found = {name: _READ[name](name, value) for name, value in data.items() if name in _READ}
    number = found.get("hole")
    if number is None or len(found) < len(data) or not 1 <= number <= 18:
        raise ValueError(f"expected a hole of a round, not {data!r:.60}")
    return HolePlayed(**found)


def _whole(name: str, value: Any) -> int | None:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        raise ValueError(f"{name}: expected a whole number, not {value!r:.40}")
    return value


def _length(name: str, value: Any) -> Decimal | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise ValueError(f"{name}: expected a number, not {value!r:.40}")
    return Decimal(str(value))


def _choice(name: str, value: Any) -> Any:
    if value not in CHOICES[name]:
        raise ValueError(f"{name}: expected one of {', '.join(CHOICES[name])}, not {value!r:.40}")
    return value


def _club(name: str, value: Any) -> str | None:
    if value is not None and not (isinstance(value, str) and 0 < len(value) <= LONGEST_CLUB):
        raise ValueError(f"{name}: expected the id of a club, not {value!r:.40}")
    return value


_READ: Mapping[str, Callable[[str, Any], Any]] = {
    **dict.fromkeys(("hole", *COUNTS), _whole),
    **dict.fromkeys(CARD_LENGTHS, _length),
    **dict.fromkeys(CHOICES, _choice),
    "club": _club,
}
