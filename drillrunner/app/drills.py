"""The app's drills: what the first screen tells of them, and all of them once they are read."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.app.bare import Bare
from drillrunner.catalogue import listing, places
from drillrunner.catalogue.errors import BadDrill
from drillrunner.catalogue.listing import Listed, Listing

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.fields import Problem
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.rules.units import Unit


class Drills:
    """folders: where drills, games and plans lie. Told in the unit of the player of now.

    catalogue: what lies there, if it was read already.
    """

    def __init__(
        self, app: Bare, folders: Sequence[Path], catalogue: Catalogue | None = None
    ) -> None:
        if catalogue is not None:
            self.catalogue = catalogue
        self.app = app
        self.folders = tuple(folders)
        self.are_read = False
        """Whether `read` was called."""
        self._fitted: dict[tuple[str, str], Drill] = {}
        kept = listing.kept(self.folders, self._unit)
        self._kept = {} if kept is None else {self._unit: kept}
        """What was kept of an earlier reading, which holds until they are read."""
        self._listings: dict[Unit | None, Listing] = {}

    @cached_property
    def catalogue(self) -> Catalogue:
        """The drills and games. What the first screen tells of them is known without."""
        from drillrunner.catalogue.loader import load

        return load(self.folders)

    @cached_property
    def problems(self) -> tuple[Problem, ...]:
        """Why files can't be used: of drills and games, of plans, and of what the player says of
        ranges, the hand, courses and the association."""
        from drillrunner.catalogue.clubs import CLUBS
        from drillrunner.catalogue.courses import load_courses
        from drillrunner.catalogue.plans import load_plans
        from drillrunner.catalogue.ranges import load_hand, load_ranges
        from drillrunner.services import association

        plans = load_plans(self.folders, self.catalogue, CLUBS)
        wrong = association.load()[1]
        return (
            *self.catalogue.problems,
            *plans.problems,
            *load_ranges()[1],
            *load_hand()[1],
            *load_courses().problems,
            *([] if wrong is None else [wrong]),
        )

    @property
    def listing(self) -> Listing:
        """What the home screen tells of the drills."""
        unit = self._unit
        if (known := self._known(unit)) is not None:
            return known
        found = Listing.of(self.catalogue, self.fitted, len(self.problems))
        return self._listings.setdefault(unit, found)

    def _known(self, unit: Unit | None) -> Listing | None:
        return self._kept.get(unit) or self._listings.get(unit)

    def listed(self, id: str) -> Listed | None:
        """What is known of a drill without reading any."""
        known = self._known(self._unit)
        return next((one for one in known.drills if one.id == id), None) if known else None

    def drill(self, id: str) -> Drill:
        """The drill of that id, read alone where that can be. Raises UnknownDrill."""
        if "catalogue" not in self.__dict__:
            from drillrunner.catalogue.loader import load_bundled

            if (found := load_bundled(id)) is not None:
                return found
        return self.catalogue.drill(id)

    def read_anew(self) -> None:
        """Read the files again: one was written or taken away here."""
        own = places.games_dir()
        if own not in self.folders and own.is_dir():
            self.folders = (*self.folders[:1], own, *self.folders[1:])
        self.__dict__.pop("catalogue", None)
        self.__dict__.pop("problems", None)
        self._fitted.clear()
        self._listings.clear()
        self.read()

    def read(self) -> None:
        """Read the drills, and let home tell what they are now if that is not what was kept."""
        self.are_read = True
        told, self._kept = self._known(self._unit), {}
        if self.listing != told:
            self.app.tell("home")
        listing.keep(self.listing, self.folders, self._unit)

    @property
    def _unit(self) -> Unit | None:
        return None if self.app.player is None else self.app.player.unit

    def fitted(self, drill: Drill) -> Drill:
        """A drill in the unit of the player of now."""
        unit = self._unit or drill.unit
        key = (drill.id, unit)
        if key not in self._fitted:
            try:
                self._fitted[key] = drill.in_unit(unit)
            except BadDrill:
                return drill
        return self._fitted[key]
