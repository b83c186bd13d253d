"""What comes with the program, read once for all the tests of a process."""

from __future__ import annotations

from drillrunner.catalogue.loader import bundled, load

CATALOGUE = load([bundled("games")])
DRILLS = CATALOGUE.drills
