"""What can be wrong with a drill, apart from what reads drills: that takes long to import."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillrunner.catalogue.fields import Problem


class BadDrill(ValueError):
    """A drill that can't be played as it is written, with every fault."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))


class NeedsStock(ValueError):
    """The aim's carry comes from the player's stock carry, which has not been filled in."""
