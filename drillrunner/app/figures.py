"""What the home screen tells of one player: bests, last scores and open runs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from drillrunner.rules.game import Score

if TYPE_CHECKING:
    from drillrunner.store.shapes import Best, StoredRun

LATEST = 5
"""Last scores that are told of a drill."""


@dataclass(frozen=True)
class Figures:
    """bests, lasts: by the fingerprint of a drill as it is set; lasts newest first."""

    bests: Mapping[str, Score] = field(default_factory=dict)
    lasts: Mapping[str, tuple[Score, ...]] = field(default_factory=dict)
    open_runs: tuple[StoredRun, ...] = ()

    @classmethod
    def of(cls, player: str, bests: Iterable[Best], runs: Iterable[StoredRun]) -> Figures:
        """The figures of the player with this id. runs: newest first, open ones too."""
        mine = [run for run in runs if run.player_id == player]
        lasts: dict[str, list[Score]] = defaultdict(list)
        for run in mine:
            if run.finished and len(lasts[run.fingerprint]) < LATEST:
                lasts[run.fingerprint].append(run.score)
        return cls(
            {best.fingerprint: best.score for best in bests if best.player_id == player},
            {fingerprint: tuple(scores) for fingerprint, scores in lasts.items()},
            tuple(run for run in mine if run.ended is None),
        )

    def best(self, fingerprint: str) -> Score:
        """The best under a setting, or `None`."""
        return self.bests.get(fingerprint)

    def last(self, fingerprint: str) -> tuple[Score, ...]:
        """The last scores under a setting, newest first."""
        return self.lasts.get(fingerprint, ())
