"""What next: one list, worked out from all there is, the strongest kind of evidence first.

The order: what rounds say costs strokes; a side that a club sure misses to; a pattern that got
wider; a drill whose scores fell, luck excluded; a stock carry that is missing or stale; a club that
was never measured. Home, a result, a session's summary and the page for a coach show its beginning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillrunner.practice.looking_back.need_words import Worst, worst_of
from drillrunner.practice.sessions.claims import (
    ClubSwing,
    DrillFact,
    Facts,
    claim,
)

if TYPE_CHECKING:
    pass


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
    find: ClubSwing | None = None

    @property
    def line(self) -> str:
        """All of it in one line."""
        return f"{self.what}: {self.why}" + (f"; {self.sure}" if self.sure else "")


def what_next(
    facts: Facts, wider: Mapping[ClubSwing, str], fell: Mapping[str, str]
) -> Iterator[NextThing]:
    """What to do next, the strongest evidence first; no drill and no search is named twice.

    facts: with the sides that are sure. wider: of clubs and swings whose pattern got wider, in a
    sentence. fell: of drills whose scores did, luck excluded, by id.
    """
    named = set()
    for thing in _all(facts, wider, fell):
        does = thing.drill, thing.find
        if does == (None, None) or does not in named:
            yield thing
        named.add(does)


def _all(
    facts: Facts, wider: Mapping[ClubSwing, str], fell: Mapping[str, str]
) -> Iterator[NextThing]:
    worst = worst_of(facts.needs)
    if worst is not None:
        drill = _serving(worst.kinds, facts)
        yield NextThing(
            drill.title if drill else worst.name,
            worst.said,
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
    yield from _new_clubs(facts)


def _new_clubs(facts: Facts) -> Iterator[NextThing]:
    """Clubs that were not measured lately, the simplest drill first."""
    bay = [drill for drill in facts.drills if drill.needs is None and not drill.green]
    clubs = {swing[0] for drill in bay for swing in drill.swings}
    known = {club for (club, _), balls in facts.balls.items() if balls}
    found = [(_with(club, bay, facts), club) for club in clubs - known]
    for drill, club in sorted(found, key=lambda pair: (_simple(pair[0], facts), pair[1])):
        yield NextThing(drill.title, f"no ball with the {facts.named(club)} lately", "", drill.id)


def _with(club: str, drills: Iterable[DrillFact], facts: Facts) -> DrillFact:
    """The simplest drill that hits a club."""
    having = [drill for drill in drills if any(club == one for one, _ in drill.swings)]
    return min(having, key=lambda drill: (_simple(drill, facts), drill.id))


def _simple(drill: DrillFact, facts: Facts) -> tuple[int, bool, bool, float]:
    """How simple a drill is: few clubs, no ball in between, no number; then the most valuable."""
    return len(drill.swings), drill.between, drill.carry, -claim(drill, facts).value


def _sure(need: Worst) -> str:
    return f"8 in 10 between {need.low:.1f} and {need.high:.1f}" + ("" if need.sure else ", so far")


def _serving(kinds: Sequence[str], facts: Facts) -> DrillFact | None:
    """The drill that serves kinds of shot best."""
    shares = [
        (round(sum(share for kind, share in drill.serves if kind in kinds), 6), drill)
        for drill in _best_first(facts.drills, facts)
    ]
    found = max(shares, key=lambda pair: pair[0], default=None)
    return found[1] if found is not None and found[0] > 0 else None


def _best_first(drills: Iterable[DrillFact], facts: Facts) -> Sequence[DrillFact]:
    playable = [drill for drill in drills if drill.needs is None]
    return sorted(playable, key=lambda drill: (-claim(drill, facts).value, drill.id))


def _of_clubs(said: Mapping[ClubSwing, str], facts: Facts, sure: str) -> Iterator[NextThing]:
    for swing, why in sorted(said.items()):
        having = [d for d in facts.drills if d.needs is None and swing in d.swings]
        if having:
            drill = _with(swing[0], having, facts)
            yield NextThing(drill.title, f"{facts.named(swing[0])}, {why}", sure, drill.id)


def _find(swing: ClubSwing, facts: Facts, why: str) -> NextThing:
    club, how = swing
    named = facts.named(club) + ("" if how == "full" else f", {how}")
    return NextThing(f"Find the stock carry of your {named}", why, "", find=swing)
