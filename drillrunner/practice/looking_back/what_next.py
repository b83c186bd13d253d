"""What next: one list, worked out from all there is, the strongest kind of evidence first.

The order: what rounds say costs strokes; a side that a club sure misses to; a pattern that got
wider; a drill whose scores fell, luck excluded; a stock carry that is missing or stale; a club that
was never measured. Home, a result, a session's summary and the page for a coach show its beginning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillrunner.practice.looking_back.need_words import worst_of
from drillrunner.practice.sessions.claims import (
    KIND_WORDS,
    DrillFact,
    Facts,
    Swing,
    claim,
    need_words,
)

if TYPE_CHECKING:
    from drillrunner.odds.strokes.needs import Need


@dataclass(frozen=True)
class NextThing:
    """One thing to do. what: in a few words; why: the sentence with its number; sure: how sure.

    drill: the id of the drill that does it; find: the club and swing whose stock carry is looked
    for instead. Both are `None` where there is nothing here to play.
    """

    what: str
    why: str
    sure: str
    drill: str | None = None
    find: Swing | None = None

    @property
    def line(self) -> str:
        """All of it in one line."""
        return f"{self.what}: {self.why}" + (f"; {self.sure}" if self.sure else "")


def what_next(
    facts: Facts, wider: Mapping[Swing, str], fell: Mapping[str, str]
) -> Iterator[NextThing]:
    """What to do next, the strongest evidence first. facts: with the sides that are sure.

    wider: of clubs and swings whose pattern got wider, in a sentence. fell: of drills whose scores
    did, luck excluded, by id.
    """
    worst = worst_of(facts.needs)
    if worst is not None:
        drill = _serving(worst.kind, facts)
        yield NextThing(
            drill.title if drill else KIND_WORDS[worst.kind],
            need_words(worst),
            _sure(worst),
            None if drill is None else drill.id,
        )
    yield from _of_clubs(facts.sides, facts, "")
    yield from _of_clubs(wider, facts, "the two 80 % intervals are apart")
    titles = {drill.id: drill.title for drill in facts.drills}
    for id, said in sorted(fell.items()):
        if id in titles:
            yield NextThing(titles[id], said, "", id)
    needy = [drill for drill in facts.drills if drill.needs is not None]
    for needed in sorted(needy, key=lambda drill: drill.id):
        if needed.needs is not None:
            yield _find(needed.needs, facts, f"{needed.title} aims at it and none is known")
    for swing in facts.stale:
        yield _find(swing, facts, "it was found long ago")
    for drill in _best_first(facts.drills, facts):
        new = [club for club, _ in drill.swings if not _measured(club, facts)]
        if new and drill.needs is None and not drill.green:
            yield NextThing(
                drill.title, f"no ball with the {facts.named(new[0])} lately", "", drill.id
            )


def _sure(need: Need) -> str:
    return f"8 in 10 between {need.low:.1f} and {need.high:.1f}" + ("" if need.sure else ", so far")


def _serving(kind: str, facts: Facts) -> DrillFact | None:
    """The drill that serves a kind of shot best."""
    shares = [
        (dict(drill.serves).get(kind, 0.0), drill) for drill in _best_first(facts.drills, facts)
    ]
    found = max(shares, key=lambda pair: pair[0], default=None)
    return found[1] if found is not None and found[0] > 0 else None


def _best_first(drills: Iterable[DrillFact], facts: Facts) -> Sequence[DrillFact]:
    playable = [drill for drill in drills if drill.needs is None]
    return sorted(playable, key=lambda drill: (-claim(drill, facts).value, drill.id))


def _of_clubs(said: Mapping[Swing, str], facts: Facts, sure: str) -> Iterator[NextThing]:
    for swing, why in sorted(said.items()):
        drill = next((d for d in _best_first(facts.drills, facts) if swing in d.swings), None)
        if drill is not None:
            yield NextThing(drill.title, f"{facts.named(swing[0])}, {why}", sure, drill.id)


def _measured(club: str, facts: Facts) -> bool:
    return any(balls for (known, _), balls in facts.balls.items() if known == club)


def _find(swing: Swing, facts: Facts, why: str) -> NextThing:
    club, how = swing
    named = facts.named(club) + ("" if how == "full" else f", {how}")
    return NextThing(f"Find the stock carry of your {named}", why, "", find=swing)
