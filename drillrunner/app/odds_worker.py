"""What screens ask the odds: each question is one for `newest`, which works it out in a thread.

numpy and all of `drillrunner.odds` are imported here only inside a question, so in its thread.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from drillrunner.catalogue.errors import BadDrill, NeedsStock
from drillrunner.rules.units import convert

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.odds.counsel import AtAim, Within
    from drillrunner.odds.desk import Answer, Bag, Behind
    from drillrunner.odds.green.portrait import GreenSide
    from drillrunner.odds.pattern import Band, Pattern
    from drillrunner.odds.portrait import PatternSide
    from drillrunner.odds.tune import Tuned
    from drillrunner.rules.game import AnyGame
    from drillrunner.rules.run import Ball, Run
    from drillrunner.rules.score import Score
    from drillrunner.rules.shot import NearLie
    from drillrunner.rules.station import Ask
    from drillrunner.rules.units import Unit
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

BINS = 96
"""Places along the target at which the pattern is drawn."""
KEPT = 10
"""Balls of a run whose pictures are kept for an undo; from further back it is followed anew."""
IN_HASTE = 1_000
"""For a dial, which has many values to try."""


# ---- the run in play ----


@dataclass(frozen=True)
class Told:
    """What the odds say of a run in play.

    answer: `None` without a score to beat; then `holds` is the chance that a ball holds the aim,
    where it judges one direction. density: see `target.draw`. guess, shots: of the patterns that
    the game depends on. typical: where the best is far, the chance of the typical score. aim: what
    is told of the aim, before the first ball of a run.
    """

    answer: Answer | None
    holds: Band | None
    density: tuple[float, ...] | None
    guess: bool
    shots: int
    typical: Within | None = None
    aim: AtAim | None = None


class Follower:
    """A player's pictures that follow one run, ball by ball and back again. One thread at a time.

    What was worked out for the balls that still stand is kept, so that one more costs little.
    """

    def __init__(self, store: Store, playing: Playing) -> None:
        self._store = store
        self._playing = playing
        self._bags: dict[int, Bag] = {}
        self._balls: tuple[Ball, ...] = ()
        self._typical: tuple[Score] | tuple[()] = ()
        """The player's typical score before this run, once it was wanted."""

    def tell(self, run: Run, beat: Score, span: Decimal) -> Told:
        """What the odds say of this run. span: half the width of the target's picture."""
        from drillrunner.odds import desk
        from drillrunner.odds.counsel import at_aim

        bag, ask = self.bag(run), run.ask
        answer = desk.ask(run.game, run, bag, beat)
        return Told(
            answer,
            desk.held_share(bag, ask) if beat is None else None,
            backdrop(bag, ask, span),
            *desk.rests_on(run.game, bag),
            self._within(run, answer, beat, bag),
            None if run.balls else at_aim(bag, ask),
        )

    def _within(self, run: Run, answer: Answer | None, beat: Score, bag: Bag) -> Within | None:
        from drillrunner.odds import counsel, desk

        if answer is None or answer.chance >= counsel.RARE:
            return None
        if not self._typical:
            from drillrunner.services.typical import typical_score

            playing = self._playing
            fingerprint = playing.drill.fingerprint
            self._typical = (typical_score(self._store, playing.player.id, fingerprint),)
        (typical,) = self._typical
        if not counsel.within_reach(answer.chance, beat, typical, run.game.better):
            return None
        found = desk.ask(run.game, run, bag, typical)
        return None if found is None else counsel.Within(typical, found)

    def bag(self, run: Run) -> Bag:
        """The pictures after the balls of the run as it stands."""
        from drillrunner.odds.desk import bag_of

        if not self._bags:
            # The balls of this run are followed one by one: here they are left out.
            self._bags[0] = bag_of(self._store, self._playing.player, self._playing.id)
        same = 0
        for old, new in zip(self._balls, run.balls, strict=False):
            if old != new:
                break
            same += 1
        for gone in [balls for balls in self._bags if balls > same]:
            del self._bags[gone]
        for balls in range(max(self._bags), len(run.balls)):
            self._bags[balls + 1] = self._bags[balls].after(run.balls[balls])
            if balls >= KEPT:
                del self._bags[balls + 1 - KEPT]
        self._balls = run.balls
        return self._bags[len(run.balls)]


def backdrop(bag: Bag, ask: Ask, span: Decimal) -> tuple[float, ...] | None:
    """The pattern behind a target (see `target.draw`); a window has none, nor has the green."""
    from drillrunner.rules.station import HOLING

    if ask.asks in HOLING or (ask.asks == "verdict" and "depth" in ask.aim.judged):
        return None
    return density(bag.picture(ask).of(ask.direction), span, ask.unit)


def density(pattern: Pattern, span: Decimal, unit: Unit) -> tuple[float, ...]:
    """How likely a ball is to finish at each of `BINS` places from `-span` to `span`, in `unit`."""
    far = float(convert(span, unit, "yd"))
    step = 2.0 * far / (BINS - 1)
    spans = [(far * -1 + (k - 0.5) * step, far * -1 + (k + 0.5) * step) for k in range(BINS)]
    plausible = pattern.plausible()
    found: list[float] = (plausible.chances(spans) @ plausible.weight).tolist()
    return tuple(found)


# ---- difficulty that fits ----


class DialFit(NamedTuple):
    """Where the dial fits. now: the chance as the drill is set. guess, shots: what it rests on."""

    tuned: Tuned
    beat: Decimal
    now: float
    guess: bool
    shots: int


def fit_dial(
    store: Store,
    player: PlayerInfo,
    drill: Drill,
    beat: Score,
    wanted: float,
    known: dict[Score, dict[int, Tuned]],
) -> DialFit:
    """The value of the dial at which the chance to beat `beat` is nearest to the wanted one.

    Without a score to beat it is the one that is likely at present: the middle one of all that
    can come. known: what was found for each score of this player and drill; it is added to. Raises
    NoDial, NeedsStock, StoreError.
    """
    from drillrunner.odds.chance import chance
    from drillrunner.odds.tune import tune

    patterns = patterns_of(store, player)
    game = drill.game()
    if beat is None:
        from drillrunner.odds.desk import middle

        beat = middle(game, patterns(drill))
    most = states_of(game)
    now = chance(game, game.start(), patterns(drill), beat, states=most, rollouts=IN_HASTE)
    steps = known.setdefault(beat, {})
    tuned = tune(drill, patterns, beat, wanted, states=most, rollouts=IN_HASTE, known=steps)
    guess, shots = what_it_rests_on(store, player, drill)
    return DialFit(tuned, Decimal(beat), now.chance, guess, shots)


def offer(store: Store, player: PlayerInfo, drill: Drill, beat: Score) -> str | None:
    """One line if a drill is plainly too easy or too hard, with another setting; else `None`.

    Raises StoreError.
    """
    from drillrunner.odds.tune import advice

    if beat is None or drill.dial is None:
        return None
    guess, _ = what_it_rests_on(store, player, drill)
    try:
        game = drill.game()
    except NeedsStock:
        return None
    found = advice(drill, patterns_of(store, player), beat, guess, states=states_of(game))
    return None if found is None else found[0]


@dataclass(frozen=True)
class NextTime:
    """What a result tells of the next run. chance: to beat `beat`, as it stands now."""

    chance: float | None
    typical: Within | None
    aim: AtAim | None


def next_time(store: Store, player: PlayerInfo, drill: Drill, beat: Score) -> NextTime:
    """What the player's shots say of another run of the drill as set. Raises StoreError."""
    from drillrunner.odds import counsel, desk
    from drillrunner.rules import Run
    from drillrunner.services.typical import typical_score

    run, bag = Run.begin(drill.game()), desk.bag_of(store, player)
    answer, within = desk.ask(run.game, run, bag, beat), None
    if answer is not None and answer.chance < counsel.RARE:
        typical = typical_score(store, player.id, drill.fingerprint)
        if counsel.within_reach(answer.chance, beat, typical, run.game.better):
            found = desk.ask(run.game, run, bag, typical)
            within = None if found is None else counsel.Within(typical, found)
    aim = None if run.game.moves else counsel.at_aim(bag, run.ask)
    return NextTime(None if answer is None else answer.chance, within, aim)


def states_of(game: AnyGame) -> int:
    """The most states of a game that are walked before rollouts answer."""
    from drillrunner.odds.desk import BALLS, states_for

    return states_for(game, BALLS)


def patterns_of(store: Store, player: PlayerInfo) -> Callable[[Drill], Bag]:
    """The player's patterns for a drill as set; drills at one carry share a picture."""
    from drillrunner.odds.desk import bag_of

    bag = bag_of(store, player)
    return lambda _: bag


def what_it_rests_on(store: Store, player: PlayerInfo, drill: Drill) -> Behind:
    """What a figure of this drill would rest on."""
    from drillrunner.odds import desk

    return desk.rests_on(drill.game(), desk.bag_of(store, player))


# ---- the pattern screen ----


class Widths(NamedTuple):
    """What each width would make of a drill: the chance to beat its best; `None` where unset."""

    title: str
    width: Decimal | None
    beat: Score
    chances: tuple[float | None, ...]


@dataclass(frozen=True)
class Portrait:
    """All that the pattern screen shows. swings: clubs and swings that there is a picture of.

    sides: left and right, short and long, and where there are calls how far off those were.
    """

    club: str
    swing: str
    unit: Unit
    sides: tuple[PatternSide, ...]
    drills: tuple[Widths, ...]
    swings: tuple[tuple[str, str], ...]


def portrait(
    store: Store, player: PlayerInfo, catalogue: Catalogue, club: str, swing: str
) -> Portrait:
    """Where a player's shots with one club and swing finish. Raises StoreError."""
    from drillrunner.odds.desk import picture_of
    from drillrunner.odds.portrait import side_of

    picture = picture_of(store, player, club, swing, unit=player.unit)
    called = picture_of(store, player, club, swing, unit=player.unit, calls=True)
    sides = [side_of(picture, "lateral", player.unit), side_of(picture, "depth", player.unit)]
    if called.depth.shots:
        sides.append(side_of(called, "depth", player.unit))
    drills = [drill.in_unit(player.unit) for drill in catalogue.drills]
    return Portrait(
        club,
        swing,
        player.unit,
        tuple(sides),
        tuple(
            _widths(store, player, drill)
            for drill in drills
            if (drill.club, drill.swing) == (club, swing)
            and drill.dial is not None
            and drill.dial.field == "aim.width"
        ),
        tuple(_swings(store, player, drills, (club, swing))),
    )


def green_portrait(store: Store, player: PlayerInfo, lie: NearLie) -> GreenSide:
    """How a player holes out from a lie. Raises StoreError."""
    from drillrunner.odds.green.stored import green_of

    return green_of(store, player, lie)


def _widths(store: Store, player: PlayerInfo, drill: Drill) -> Widths:
    from drillrunner.odds.chance import chance
    from drillrunner.odds.desk import WIDTHS

    best = store.best(player.id, drill.fingerprint)
    patterns = patterns_of(store, player)

    def at(width: int) -> float | None:
        if best is None:
            return None
        try:
            turned = drill.with_value("aim.width", Decimal(width))
            game = turned.game()
        except (BadDrill, NeedsStock):
            return None
        most = states_of(game)
        found = chance(
            game, game.start(), patterns(turned), best.score, states=most, rollouts=IN_HASTE
        )
        return found.chance

    return Widths(
        drill.title, drill.aim.width, None if best is None else best.score, tuple(map(at, WIDTHS))
    )


def _swings(
    store: Store, player: PlayerInfo, drills: Sequence[Drill], shown: tuple[str, str]
) -> Iterator[tuple[str, str]]:
    """Clubs in the player's order, each with the swings that were played or that drills ask for."""
    known = {(run.club, run.swing) for run in store.history(player_id=player.id)}
    known |= {(at.club, at.swing) for drill in drills for at in drill.stations} | {shown}
    for club in store.clubs(player.id):
        swings = {swing for name, swing in known if name == club.id} | {"full"}
        if not club.retired or any(name == club.id for name, _ in known):
            yield from (
                (club.id, swing) for swing in sorted(swings, key=lambda s: (s != "full", s))
            )
