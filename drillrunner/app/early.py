"""A run that is played before the records are open, from what plain `sqlite3` told of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from drillrunner.catalogue.listing import as_decimal

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.listing import Listed, Opening
    from drillrunner.rules.game import AnyGame
    from drillrunner.rules.run import Run
    from drillrunner.rules.score import Better
    from drillrunner.rules.units import Unit
    from drillrunner.store.quick import HomeFacts
    from drillrunner.store.shapes import Best, PlayerInfo


class AsListed:
    """A drill that is not read yet; what a screen asks of one until then."""

    def __init__(self, listed: Listed, opening: Opening) -> None:
        self.id, self.title, self.about = listed.id, listed.title, listed.about
        self.club, self.fingerprint = listed.club, listed.fingerprint
        self.stations = tuple(map(_Station, opening.swings))
        self._setting = {**listed.setting, "settings": opening.settings}

    def setting(self) -> Mapping[str, Any]:
        """As of `Drill`."""
        return self._setting


class _Station(NamedTuple):
    swing: str


class _Game(NamedTuple):
    """What a screen asks of a game before the first ball."""

    better: Better
    unit: Unit
    moves: bool


@dataclass
class Early:
    """A new run of which nothing is on disk; what a screen asks of `journal.Playing` until then.

    Of a drill that is not read yet it can be shown, and takes no ball.
    """

    player: PlayerInfo
    drill: Drill | AsListed
    run: Run
    best_before: Best | None
    id: str = ""
    begun: bool = False
    broken: str | None = None


def early(facts: HomeFacts, drill: Drill) -> Early | None:
    """A new run of a drill for who plays. `None` where the records have to be asked first: who
    plays is not known, a run of it is open, it aims at a stock carry, or its game fails.
    """
    player = _may_begin(facts, drill.id)
    if player is None:
        return None
    from drillrunner.rules.run import Run

    try:
        fitted = drill.in_unit(player.unit)
        if fitted.wants or fitted.stock:
            return None
        run = Run.begin(fitted.game(), fitted.between)
    except Exception:
        # It has no such unit, or a stranger's game raises: opened in the usual way, it is told of.
        return None
    return Early(player, fitted, run, facts.bests.get((player.id, fitted.fingerprint)))


def early_as_listed(facts: HomeFacts, listed: Listed) -> Early | None:
    """The same, of a drill that is not read yet."""
    player, opening = _may_begin(facts, listed.id), listed.opening
    if player is None or opening is None:
        return None
    try:
        run = _opened(listed, opening)
    except (KeyError, TypeError):
        # Kept by this version of the program as it was before a change of its own code.
        return None
    best = facts.bests.get((player.id, listed.fingerprint))
    return Early(player, AsListed(listed, opening), run, best)


def _may_begin(facts: HomeFacts, drill: str) -> PlayerInfo | None:
    """Who plays, if that is known and has no run of the drill open."""
    is_open = any(run.drill == drill for run in facts.open_runs)
    return None if is_open else facts.player


def _opened(listed: Listed, opening: Opening) -> Run:
    from drillrunner.rules.run import Run
    from drillrunner.rules.soundness import Heard

    ask = opening.asked()
    heard = Heard(None, opening.readout, False, None, as_decimal(opening.score), ask)
    game = _Game(listed.better, ask.unit, opening.moves)
    return Run(cast("AnyGame", game), heard, heard)
