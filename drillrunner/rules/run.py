"""A run is its entries; the state is the fold of the live ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Any, NamedTuple

from drillrunner.rules.refused import Refused as Refused
from drillrunner.rules.score import Score
from drillrunner.rules.shot import Aim, Shot
from drillrunner.rules.soundness import Heard, Unsound, after, contained, hear, unsound
from drillrunner.rules.station import Ask
from drillrunner.rules.units import Unit

if TYPE_CHECKING:
    from drillrunner.rules.game import AnyGame

GIVEN_UP = "given up"


class Kind(StrEnum):
    """What was typed."""

    SHOT = "shot"
    BETWEEN = "between"
    UNDO = "undo"
    VOID = "void"
    NOTE = "note"
    GIVE_UP = "give_up"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing typed. `text` is what was typed; only a shot carries a `shot`."""

    kind: Kind
    text: str = ""
    shot: Shot | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """For each entry, whether it is in force, a ball that counts, and a ball that is void.

    It follows from the kinds alone, so that a run can be read when its game is gone.
    """

    live: tuple[bool, ...]
    counts: tuple[bool, ...]
    voids: tuple[bool, ...]

    @classmethod
    def of(cls, kinds: Sequence[Kind]) -> Standing:
        """The standing of entries that were taken in this order.

        An undo acts on the latest live entry, so all that followed it is gone already: stacks are
        enough. Raises IndexError if an undo or a void has nothing to act on.
        """
        live: list[int] = []
        balls: list[int] = []
        voided: list[int] = []
        for at, kind in enumerate(kinds):
            if kind is not Kind.UNDO:
                live.append(at)
                if kind is Kind.SHOT:
                    balls.append(at)
                elif kind is Kind.VOID:
                    voided.append(balls.pop())
                continue
            undone = kinds[live.pop()]
            if undone is Kind.SHOT:
                balls.pop()
            elif undone is Kind.VOID:
                balls.append(voided.pop())

        def marks(marked: Iterable[int]) -> tuple[bool, ...]:
            these = frozenset(marked)
            return tuple(at in these for at in range(len(kinds)))

        return cls(marks(live), marks(balls), marks(voided))


class Ball(NamedTuple):
    """A counted ball, and what was asked of it."""

    shot: Shot
    ask: Ask

    @property
    def aim(self) -> Aim:
        """The aim it was hit at."""
        return self.ask.aim

    @property
    def unit(self) -> Unit:
        """The unit of its distances."""
        return self.ask.unit

    @property
    def lost_counts(self) -> Decimal | None:
        """What it counts if it was lost."""
        return self.ask.lost_counts


class AsItStands:
    """How a run stands. now: what its game said last. given_up: whether the player ended it."""

    __slots__ = ()

    now: Heard
    given_up: bool

    @property
    def over(self) -> bool:
        """Whether the run has ended, by the game or by giving up."""
        return self.given_up or self.now.over

    @property
    def finished(self) -> bool:
        """Whether the game itself came to its end: only such a run can be a record."""
        return not self.given_up and self.now.over

    @property
    def ended(self) -> str | None:
        """Why the run ended, in words; `None` while it goes on."""
        return GIVEN_UP if self.given_up else self.now.ended

    @property
    def score(self) -> Score:
        """The running score, or the final one."""
        return self.now.score


@dataclass(frozen=True, slots=True)
class Run(AsItStands):
    """One player's playing of one game, with everything that follows from the entries.

    The game is heard once on each state that the run comes to, and what it said is kept.
    opening, now: what it said of the start and of the state as it stands. balls: those that count,
    in order.
    live: for each entry, whether it is in force (an undone entry, an undo, or a void whose ball
    came back are not). counts: for each entry, whether it is a ball that counts in the score.
    tally: typed afterwards, so no ball in between is ever due.
    """

    game: AnyGame
    opening: Heard
    now: Heard
    between: str | None = None
    tally: bool = False
    entries: tuple[Entry, ...] = ()
    live: tuple[bool, ...] = ()
    counts: tuple[bool, ...] = ()
    voids: tuple[bool, ...] = ()
    balls: tuple[Ball, ...] = ()
    given_up: bool = False

    @classmethod
    def begin(cls, game: AnyGame, between: str | None = None, tally: bool = False) -> Run:
        """A run before its first entry. Raises what its game raises, or Unsound."""
        with contained():
            opening = _heard(game, game.start(), None)
            return cls(game, opening, opening, between, tally)

    @classmethod
    def fold(
        cls,
        game: AnyGame,
        entries: Iterable[Entry],
        between: str | None = None,
        tally: bool = False,
    ) -> Run:
        """The run that these entries make. Raises Refused at the first that can't be taken."""
        run = cls.begin(game, between, tally)
        for entry in entries:
            run = run.add(entry)
        return run

    @property
    def state(self) -> Any:
        """The state of the game as it stands."""
        return self.now.state

    @property
    def ask(self) -> Ask:
        """What is asked of the next ball; once the game is over, what was asked of the last."""
        return self.now.ask or self.game.ask

    @property
    def counted(self) -> int:
        """Balls that count."""
        return sum(self.counts)

    @property
    def voided(self) -> int:
        """Balls that are void."""
        return sum(self.voids)

    @property
    def undone(self) -> int:
        """Undo entries."""
        return [entry.kind for entry in self.entries].count(Kind.UNDO)

    @property
    def shots(self) -> tuple[Shot, ...]:
        """The balls that count, in order."""
        return tuple([ball.shot for ball in self.balls])

    @property
    def between_due(self) -> bool:
        """Whether the drill now asks for the ball in between."""
        if self.between is None or self.tally or self.over:
            return False
        for entry, live, counts in zip(
            reversed(self.entries), reversed(self.live), reversed(self.counts), strict=True
        ):
            if live and entry.kind in (Kind.SHOT, Kind.BETWEEN):
                return entry.kind is Kind.SHOT and counts
        return False

    def add(self, entry: Entry) -> Run:
        """The run with one more entry. Raises Refused, with the reason, if it can't be taken.

        Raises too whatever its game raises, and Unsound for what it says and may not.
        """
        if entry.kind in (Kind.UNDO, Kind.VOID) and self._target(entry.kind) is None:
            raise Refused(f"nothing to {entry.kind}")
        if entry.kind in (Kind.SHOT, Kind.BETWEEN, Kind.GIVE_UP) and self.over:
            raise Refused(f"the run is over ({self.ended}): undo or void to go on")
        if entry.kind is Kind.SHOT:
            if entry.shot is None:
                raise Refused("a shot without a reading")
            if self.between_due:
                raise Refused(f"first the ball in between: {self.between}, then Enter")
        if entry.kind is Kind.BETWEEN and not self.between_due:
            raise Refused("no ball in between is due")
        longer = replace(self, entries=(*self.entries, entry))
        if entry.kind in (Kind.UNDO, Kind.VOID):
            return longer._refolded()
        shots = (entry.shot,) if entry.kind is Kind.SHOT and entry.shot is not None else ()
        return replace(
            longer,
            live=(*self.live, True),
            counts=(*self.counts, bool(shots)),
            voids=(*self.voids, False),
            given_up=self.given_up or entry.kind is Kind.GIVE_UP,
        )._played(shots)

    def _played(self, shots: Iterable[Shot]) -> Run:
        """The run with these balls played on from where it stands, its game heard on each state.

        A screen, a record and a tally on paper so need no care of their own.
        """
        now, balls = self.now, list(self.balls)
        with contained():
            for shot in shots:
                assert now.ask is not None
                balls.append(Ball(shot, now.ask))
                now = _heard(self.game, after(self.game, now.state, shot), now.ask)
        return replace(self, now=now, balls=tuple(balls))

    def _target(self, kind: Kind) -> int | None:
        """The entry that an undo or a void would act on now."""
        for at in reversed(range(len(self.live))):
            if not self.live[at]:
                continue
            entry = self.entries[at]
            if kind is Kind.UNDO or (entry.kind is Kind.SHOT and not self.voids[at]):
                return at
        return None

    def _refolded(self) -> Run:
        """Work out every entry's standing, then the state, from the entries alone."""
        stands = Standing.of([entry.kind for entry in self.entries])
        pairs = zip(self.entries, stands.counts, strict=True)
        shots = [e.shot for e, counts in pairs if counts and e.shot is not None]
        again = replace(
            self,
            live=stands.live,
            counts=stands.counts,
            voids=stands.voids,
            now=self.opening,
            balls=(),
            given_up=any(
                live and entry.kind is Kind.GIVE_UP
                for entry, live in zip(self.entries, stands.live, strict=True)
            ),
        )
        return again._played(shots)


def _heard(game: AnyGame, state: Any, last: Ask | None) -> Heard:
    """What the game says of a state. Raises Unsound for what it may not say."""
    heard = hear(game, state, last)
    for wrong in unsound(game, heard):
        raise Unsound(wrong)
    return heard
