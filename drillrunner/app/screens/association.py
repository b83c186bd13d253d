"""What the association chose of what the Rules of Handicapping leave to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.practice.rounds.handicap import USUAL
from drillrunner.rules.units import NUMBER, text
from drillrunner.services import association

if TYPE_CHECKING:
    from drillrunner.store.store import Store

EXCEPTIONAL = {"unrounded": "exact (2024)", "rounded": "rounded (2020)"}


class AssociationScreen(FormScreen):
    """Each change is kept at once, and goes for all players."""

    topic = "association"
    TITLE = "Your association"

    def __init__(self) -> None:
        super().__init__()
        self.chosen = USUAL

    def read(self, store: Store) -> None:
        self.chosen, wrong = association.load()
        self.show()
        if wrong is not None:
            self.say(f"{wrong}; what is usual is taken")

    def items(self) -> list[Item]:
        now = self.chosen
        return [
            self._early(1, "Index from one score"),
            self._early(2, "Index from two scores"),
            Item(
                "par_counts",
                "Course rating less par",
                "is added" if now.par_counts else "left out",
                "to the strokes that you get on a course",
                turn=lambda _: self._keep(par_counts=not now.par_counts),
            ),
            Item(
                "allowance",
                "Played with",
                f"{text(100 * now.allowance)} %",
                "of those strokes, in a competition",
                ask=AskItem(
                    "Percent of the strokes",
                    text(100 * now.allowance),
                    lambda said: self._keep(allowance=_number(said) / 100),
                    _check(*(100 * bound for bound in association.ALLOWANCES)),
                    "95 for strokes alone, 100 for matches",
                ),
            ),
            Item(
                "low_from",
                "Low index",
                f"from {now.low_from} scores on",
                "the lowest of the year holds later ones back: which early ones count",
                turn=lambda by: self._keep(
                    low_from=turned(range(*_upto(association.LOW_FROM)), now.low_from, by)
                ),
            ),
            Item(
                "exceptional",
                "Exceptional score",
                EXCEPTIONAL[now.exceptional],
                "which differential is held against the index: 7.0 below it lowers the others",
                turn=lambda by: self._keep(
                    exceptional=turned(list(EXCEPTIONAL), now.exceptional, by)
                ),
            ),
        ]

    def _early(self, count: int, label: str) -> Item:
        now = self.chosen.early.get(count)
        low, high = association.ADDED

        def take(said: str) -> None:
            early = {known: added for known, added in self.chosen.early.items() if known != count}
            self._keep(early=early | ({count: _number(said)} if said.strip() else {}))

        return Item(
            f"early-{count}",
            label,
            "none" if now is None else f"the lowest {now:+}",
            "three make one unless your association says so",
            ask=AskItem(
                "Added to the lowest, or nothing for no index",
                "" if now is None else text(now),
                take,
                lambda said: _check(low, high)(said) if said.strip() else None,
                "as -2",
            ),
        )

    def _keep(self, **changed: Any) -> None:
        chosen = replace(self.chosen, **changed)
        try:
            association.keep_options(chosen)
        except OSError as error:
            self.say(f"not kept: {error.strerror or error}")
            return
        self.chosen = chosen
        self.show()
        self.say("kept")
        self.drillrunner.records.refresh()


def _number(said: str) -> Decimal:
    return Decimal(said.strip().replace(",", "."))


def _check(low: Decimal, high: Decimal) -> Callable[[str], str | None]:
    """Why a text is no number between these."""

    def check(said: str) -> str | None:
        typed = said.strip()
        fine = NUMBER.fullmatch(typed) is not None and low <= _number(typed) <= high
        return None if fine else f"{typed or 'nothing'}: expected {text(low)} to {text(high)}"

    return check


def _upto(bounds: tuple[int, int]) -> tuple[int, int]:
    return bounds[0], bounds[1] + 1
