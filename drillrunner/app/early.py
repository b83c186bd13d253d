"""A run that is played before the records are open, from what plain `sqlite3` told of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillrunner.catalogue.errors import BadDrill, NeedsStock

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.rules.run import Run
    from drillrunner.store.quick import HomeFacts
    from drillrunner.store.shapes import Best, PlayerInfo


@dataclass
class Early:
    """A new run of which nothing is on disk; what a screen asks of `journal.Playing` until then."""

    player: PlayerInfo
    drill: Drill
    run: Run
    best_before: Best | None
    id: str = ""
    begun: bool = False
    broken: str | None = None


def early(facts: HomeFacts, drill: Drill) -> Early | None:
    """A new run of a drill for who plays. `None` where the records have to be asked first: who
    plays is not known, a run of it is open, it aims at a stock carry, or its game fails.
    """
    player = facts.player
    if player is None or any(run.drill == drill.id for run in facts.open_runs):
        return None
    from drillrunner.rules.run import Run

    try:
        fitted = drill.in_unit(player.unit)
        if fitted.wants or fitted.stock:
            return None
        run = Run.begin(fitted.game(), fitted.between)
    except (BadDrill, NeedsStock):
        return None
    except Exception:
        # A stranger's game may raise anything: opened in the usual way, it is told of.
        return None
    return Early(player, fitted, run, facts.bests.get((player.id, fitted.fingerprint)))
