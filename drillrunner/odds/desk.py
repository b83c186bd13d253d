"""What the screens and commands ask for: a player's patterns, and the chance of a run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from functools import cache, cached_property
from math import isinf
from typing import TYPE_CHECKING, Literal, NamedTuple, Protocol

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.odds import drift
from drillrunner.odds.chance import STATES, next_ball, score_distribution
from drillrunner.odds.drift import Dated
from drillrunner.odds.green.curves import HolingPrior, told
from drillrunner.odds.green.holing import Holing
from drillrunner.odds.green.stored import holing_of
from drillrunner.odds.observe import Held, Hit, observations, of_either, told_of, yards
from drillrunner.odds.pattern import Band, Pattern
from drillrunner.odds.prior import COLUMNS, SHORTEST, Column, Prior, guess, tee_shot
from drillrunner.odds.weigh import Patterns, PatternsAt, asks_of, needed
from drillrunner.rules import Aim, AnyGame, Ask, Ball, Direction, NearLie, Run, Score, Unit, beats
from drillrunner.rules.station import HOLING

if TYPE_CHECKING:
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

BALLS = 100_000
"""Balls tried in one walk while someone waits: about a quarter of a second on a small machine."""

WHOLE = 0.999
"""A walk that reaches less than this of all ends does not tell where the middle is."""

RECORDS = 1000
"""Stored balls that are looked at: enough for the latest in one direction among others."""

WIDTHS = (20, 30, 40, 50, 60)
"""Widths in yards that a pattern is asked about."""

SIDES: dict[Direction, tuple[str, str]] = {
    "lateral": ("you miss left", "you miss right"),
    "depth": ("you come up short", "you go long"),
}
CALLED = ("you call it too far", "you call it too short")
OTHER: dict[Direction, Direction] = {"lateral": "depth", "depth": "lateral"}
TURNS = 3
"""Balls out of a window, side not seen, tie the directions: each is worked out so often in turn."""

CALLS_LOG_SD = 0.7
"""How well a player calls is guessed more widely about the depth of the shots themselves, which is
what calling the same number each time comes to. Our choice, no source."""

SURE = ((0.99, "99 in 100"), (0.95, "19 in 20"), (0.9, "9 in 10"), (0.8, "8 in 10"))


@dataclass(frozen=True)
class Player:
    """What is known of a player and a club besides the shots: where the starting guess comes from.

    distance: yards. index, column: as for `prior.guess`. carry: yards of the aim whose depth
    misses pool; `None` pools all. calls: not where the ball finishes is meant, but how far off what
    the player called it does, long of it or short.
    """

    distance: float
    index: float | None = None
    column: Column | None = None
    carry: float | None = None
    calls: bool = False

    def prior(self, direction: Direction) -> Prior:
        """The starting guess in one direction."""
        found = guess(self.distance, direction, self.index, self.column)
        return replace(found, log_sd=CALLS_LOG_SD) if self.calls else found


def player_for(
    aim: Aim,
    unit: Unit,
    usual: float,
    *,
    stock: float | None = None,
    index: float | Decimal | None = None,
    column: str | None = None,
    calls: bool = False,
) -> Player:
    """The player before an aim: the distance is its carry, else the stock carry, else the usual.

    stock, usual: yards.
    """
    carry = None if aim.carry is None else yards(aim.carry, unit)
    distance = carry or stock or usual
    known = next((name for name in COLUMNS if name == column), None)
    index = None if index is None else float(index)
    return Player(distance, index, known, None if calls else carry, calls)


class Behind(NamedTuple):
    """What stands behind a figure, of the patterns that a game depends on.

    guess: the starting guess still outweighs the shots in one of them. shots: the fewest.
    """

    guess: bool
    shots: int


@dataclass(frozen=True)
class Picture:
    """A player's patterns with one club and swing, worked out when first asked for.

    records: the balls they come from, newest first. half_life: in balls; `None` weighs all alike;
    `own` is what the player's own days speak for, in each direction.
    """

    records: Sequence[Hit]
    player: Player
    half_life: float | Literal["own"] | None = "own"

    @cached_property
    def lateral(self) -> Pattern:
        """Left and right of the aim."""
        return self._pattern("lateral")

    @cached_property
    def depth(self) -> Pattern:
        """Short and long of the aim's carry."""
        return self._pattern("depth")

    def of(self, direction: Direction) -> Pattern:
        """The pattern in one direction."""
        return self.lateral if direction == "lateral" else self.depth

    def _pattern(self, direction: Direction) -> Pattern:
        if any(map(of_either, self.records)):
            return self._tied[direction]
        return self._fitted(direction, self.records)

    @cached_property
    def _tied(self) -> dict[Direction, Pattern]:
        """Both patterns, each worked out with what the other makes of the balls they share."""
        found = {direction: self._fitted(direction, ()) for direction in OTHER}
        for _ in range(TURNS):
            for direction, other in OTHER.items():
                found[direction] = self._fitted(direction, self.records, cache(found[other].held))
        return found

    def _fitted(
        self, direction: Direction, records: Sequence[Hit], held: Held | None = None
    ) -> Pattern:
        player = self.player
        prior = player.prior(direction)
        pairs = list(told_of(records, direction, player.carry, held, player.calls))
        half_life = self.half_life
        if half_life == "own":
            half_life = drift.half_life([Dated(said, day_of(r)) for r, said in pairs], prior)
        return Pattern.of((said for _, said in pairs), prior, half_life)

    def after(self, record: Hit) -> Picture:
        """The picture one ball later; what was worked out is carried on, not begun again."""
        later = replace(self, records=(record, *self.records[: RECORDS - 1]))
        for direction, other in OTHER.items():
            if direction in self.__dict__:
                pattern: Pattern = self.__dict__[direction]
                held = self.of(other).held if of_either(record) else None
                player = self.player
                said = observations([record], direction, player.carry, None, held, player.calls)
                later.__dict__[direction] = pattern.after(said[0]) if said else pattern
        return later

    def patterns(self, game: AnyGame) -> Patterns:
        """The plausible patterns in the directions that the first ball of a game depends on."""
        return self.at(game.ask)

    def at(self, ask: Ask) -> Patterns:
        """The plausible patterns in the directions that the answers to a question depend on."""
        wanted = needed(ask)
        if wanted not in self._thinned:
            parts = {direction: self.of(direction).plausible() for direction in wanted}
            self._thinned[wanted] = Patterns(parts.get("lateral"), parts.get("depth"))
        return self._thinned[wanted]

    def picture(self, ask: Ask) -> Picture:
        """The picture before what is asked: this one, whatever it is."""
        return self

    def holing(self, lie: NearLie) -> Holing:
        """The starting guess of holing out: a picture knows of nothing else."""
        return Holing(HolingPrior(lie, self.player.index))

    @cached_property
    def _thinned(self) -> dict[tuple[Direction, ...], Patterns]:
        return {}


class Pictures(PatternsAt, Protocol):
    """A player's pictures of all that a game asks."""

    def picture(self, ask: Ask) -> Picture:
        """The picture with the club and swing, and at the number, of what is asked."""
        ...

    def holing(self, lie: NearLie) -> Holing:
        """What is known of holing out from a lie."""
        ...


class Bag:
    """A player's pictures of every club, swing and number, each worked out when first asked for.

    find: how one was before the balls that are followed. balls: those that were hit since.
    find_holing: the same of holing out from a lie.
    """

    def __init__(
        self,
        find: Callable[[Ask], Picture],
        balls: Sequence[Ball] = (),
        find_holing: Callable[[NearLie], Holing] = lambda lie: Holing(HolingPrior(lie)),
    ) -> None:
        self._find = find
        self._find_holing = find_holing
        self._holings: dict[NearLie, Patterns] = {}
        self._balls = tuple(balls)
        self._pictures: dict[tuple[str, str, Decimal | None, bool], Picture] = {}
        self._patterns: dict[tuple[int, tuple[Direction, ...]], Patterns] = {}

    def picture(self, ask: Ask) -> Picture:
        key = (ask.club, ask.swing, ask.aim.carry, ask.asks == "call")
        if key not in self._pictures:
            found = self._find(ask)
            for ball in self._balls:
                if (ball.ask.club, ball.ask.swing) == key[:2]:
                    found = found.after(ball)
            self._pictures[key] = found
        return self._pictures[key]

    def holing(self, lie: NearLie) -> Holing:
        return self._holed(lie).holing()

    def _holed(self, lie: NearLie) -> Patterns:
        if lie not in self._holings:
            found = self._find_holing(lie)
            for ball in self._balls:
                if ball.aim.lie == lie and (said := told(ball)) is not None:
                    found = found.after(said)
            self._holings[lie] = Patterns(hole=found)
        return self._holings[lie]

    def at(self, ask: Ask) -> Patterns:
        if ask.asks in HOLING:
            return self._holed(ask.aim.lie or "green")
        picture = self.picture(ask)
        key = (id(picture), needed(ask))
        if key not in self._patterns:
            # Of one club and swing, whatever the number: drawn with one another.
            self._patterns[key] = replace(
                picture.at(ask), label=(ask.club, ask.swing, ask.asks == "call")
            )
        return self._patterns[key]

    def after(self, ball: Ball) -> Bag:
        """The bag one ball later; what was worked out is carried on."""
        later = Bag(self._find, (*self._balls, ball), self._find_holing)
        said = told(ball)
        for lie, known in self._holings.items():
            if said is not None and ball.aim.lie == lie:
                known = Patterns(hole=known.holing().after(said))
            later._holings[lie] = known
        for key, picture in self._pictures.items():
            hit = (ball.ask.club, ball.ask.swing) == key[:2]
            later._pictures[key] = picture.after(ball) if hit else picture
        return later


def bag_of(store: Store | None, player: PlayerInfo | None, but: str | None = None) -> Bag:
    """A stored player's bag; of someone not known the starting guesses. Raises StoreError.

    but: a run whose balls are left out, because they are followed one by one.
    """

    def find(ask: Ask) -> Picture:
        if store is None:
            return stranger(ask.club, ask.aim, ask.unit, calls=ask.asks == "call")
        calls = ask.asks == "call"
        whole = picture_of(store, player, ask.club, ask.swing, ask.aim, ask.unit, calls=calls)
        if but is None:
            return whole
        return replace(whole, records=[r for r in whole.records if getattr(r, "run", None) != but])

    return Bag(find, (), lambda lie: holing_of(store, player, lie, but))


def rests_on(game: AnyGame, pictures: Pictures) -> Behind:
    """What a figure of this game rests on: one guess is enough, and the fewest shots count."""
    asks = asks_of(game)
    patterns: list[Pattern | Holing] = [
        pictures.picture(ask).of(direction) for ask in asks for direction in needed(ask)
    ]
    patterns += [pictures.holing(ask.aim.lie) for ask in asks if ask.asks in HOLING and ask.aim.lie]
    return Behind(
        any(pattern.guess for pattern in patterns),
        min((pattern.shots for pattern in patterns), default=0),
    )


def held_share(pictures: Pictures, ask: Ask) -> Band | None:
    """The chance that a ball holds the aim, where that is one direction and asked in or out."""
    judged = ask.aim.judged
    if len(judged) != 1 or ask.asks != "verdict":
        return None
    edge = ask.aim.edge(judged[0])
    assert edge is not None
    return pictures.picture(ask).of(judged[0]).inside(yards(2 * edge, ask.unit))


def states_for(game: AnyGame, balls: int) -> int:
    """How many states may be walked where so many balls may be tried."""
    return min(max(balls // max(len(ask.outcomes()) for ask in asks_of(game)), 1), STATES)


def picture_of(
    store: Store,
    player: PlayerInfo | None,
    club: str,
    swing: str,
    aim: Aim | None = None,
    unit: Unit = "yd",
    *,
    calls: bool = False,
) -> Picture:
    """A stored player's picture with a club and swing, before an aim in `unit`.

    Without an aim, depth speaks of the carry that was last aimed at. Without a player it is the
    starting guess. calls: of how well they call a carry. Raises StoreError.
    """
    if player is None:
        return stranger(club, aim, unit, calls=calls)
    records = store.recent_shots(player.id, club, swing, RECORDS)
    if aim is None:
        aim, unit = next(
            ((r.aim, r.unit) for r in records if r.aim.carry is not None), (Aim(), unit)
        )
    stock = (s for s in store.stock_carries(player.id) if (s.club, s.swing) == (club, swing))
    newest = max(stock, key=lambda carry: carry.at, default=None)
    own = next((c for c in store.clubs(player.id) if c.id == club), None)
    usual = usual_carry(club, player.index, player.column)
    if own is not None and own.usual_carry is not None:
        usual = yards(own.usual_carry, own.unit)
    return Picture(
        records,
        player_for(
            aim,
            unit,
            usual,
            stock=None if newest is None else yards(newest.carry, newest.unit),
            index=player.index,
            column=player.column,
            calls=calls,
        ),
    )


def stranger(
    club: str, aim: Aim | None = None, unit: Unit = "yd", *, calls: bool = False
) -> Picture:
    """The starting guess for someone who is not known at all."""
    return Picture((), player_for(aim or Aim(), unit, usual_carry(club), calls=calls))


def usual_carry(
    club: str, index: float | Decimal | None = None, column: str | None = None
) -> float:
    """Yards that a club usually carries, longer and shorter by ability as tee shots are.

    The shortest row of the accuracy table for a club of none.
    """
    known = CLUBS.get(club)
    if not known or not known.usual_carry:
        return SHORTEST
    chosen = next((name for name in COLUMNS if name == column), None)
    own = tee_shot(None if index is None else float(index), chosen)
    # What clubs usually carry is said of the model's bogey golfer, 200 yd from the tee.
    return float(known.usual_carry) * own / tee_shot(None, None if chosen is None else "men")


@dataclass(frozen=True)
class Answer:
    """The chance of a run to beat a score.

    exact: walked; else an estimate with the standard error `error`. if_in, if_out, within: as in
    `chance.NextBall`. guess: the starting guess still outweighs the player's shots. shots: how
    many stand behind the figure (the fewest, where two directions do).
    """

    chance: float
    exact: bool
    error: float
    states: int
    if_in: float | None
    if_out: float | None
    within: Decimal | None
    guess: bool
    shots: int


def ask(
    game: AnyGame, run: Run, pictures: Pictures, beat: Score, *, balls: int = BALLS, seed: int = 1
) -> Answer | None:
    """The chance that a run ends strictly better than `beat`; `None` without a score to beat.

    balls: the most to try in a walk before rollouts answer.
    """
    if beat is None:
        return None
    behind = rests_on(game, pictures)
    if run.over:
        won = run.finished and beats(game.better, run.score, beat)
        return Answer(float(won), True, 0.0, 1, None, None, None, *behind)
    most = states_for(game, balls)
    found = next_ball(game, run.state, pictures, beat, states=most, seed=seed)
    now = found.now
    return Answer(
        now.chance,
        now.exact,
        now.error,
        now.states,
        found.if_in,
        found.if_out,
        found.within,
        *behind,
    )


def middle(game: AnyGame, patterns: PatternsAt) -> Decimal:
    """The score that half of all runs reach; a run without a score stands behind every score.

    A game whose walk would try more than somebody waits for is played out instead.
    """
    most = states_for(game, BALLS)
    found = score_distribution(game, patterns, states=most)
    if not game.endless and sum(found.values()) < WHOLE:
        from drillrunner.odds.fair import rolled

        ends = rolled(game, patterns)
        sign = 1 if game.better == "higher" else -1
        shares = zip(ends.values, ends.whole.tolist(), strict=True)
        found = {
            None if isinf(value) else Decimal(f"{sign * value:g}"): share for value, share in shares
        }
    scored = sorted((score for score in found if score is not None), reverse=game.better == "lower")
    reached = found.get(None, 0.0)
    for score in scored:
        reached += found[score]
        if reached >= 0.5:
            return Decimal(score)
    return Decimal(scored[-1] if scored else 0)


def day_of(record: Hit) -> date | None:
    """The local day of a ball, where it is known."""
    at = getattr(record, "at", None)
    return at.date() if isinstance(at, datetime) else None


def side(pattern: Pattern, direction: Direction, calls: bool = False) -> str:
    """Which way the player misses (or calls) and how sure that is; never surer than it is."""
    if pattern.guess:
        return "a guess so far"
    right = pattern.right
    words = (CALLED if calls else SIDES[direction])[right >= 0.5]
    for least, said in SURE:
        if max(right, 1.0 - right) >= least:
            return f"{words}; {said} sure"
    return "no side that is sure yet"


def remark(pattern: Pattern, width: float) -> str | None:
    """The caution beside a width: `by shape, not seen`, or `None`."""
    return "by shape, not seen" if pattern.by_shape(width) else None
