"""A match: several players' runs of one drill, as a fold over what happened in order.

Pure. Each player's run is an ordinary `Run`; the match adds whose turn it is, which entry an undo
takes out, and when the promise of the running scores has settled who won. The place of a move in
`Match.moves` is its order number: undo and void follow it, across players, and never a clock.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from typing import Literal

from drillrunner.rules import AnyGame, Better, Entry, Kind, Refused, Run, Score, beats

Turns = Literal["ball", "run"]
Tie = Literal["shared", "decider"]

FEWEST_PLAYERS, MOST_PLAYERS = 2, 8
ANYTHING = Decimal("Infinity")
"""What a run may still reach where more is better: the promise sets no upper end."""


@dataclass(frozen=True, slots=True)
class Entrant:
    """One player of a match, with the game as it is set for them (a fair match turns the dial).

    balls: of somebody who is not here, all that they played: one is shown for each that is played
    here, the rest once everybody here is done. `None` for who is here.
    """

    id: str
    name: str
    game: AnyGame
    between: str | None = None
    balls: tuple[Entry, ...] | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """One thing that happened to a player: an entry; joining, or coming back; `None` is leaving.

    lap: which of the player's runs an entry went to: 0 is their own, then one per decider.
    """

    player: str
    what: Entry | Entrant | None
    lap: int = 0


@dataclass(frozen=True, slots=True)
class Turn:
    """A player, and which of their runs."""

    player: str
    lap: int = 0


@dataclass(frozen=True, slots=True)
class Decision:
    """How a match came out. winners: several share it; empty where nobody reached a score."""

    winners: tuple[str, ...]
    by: Literal["score", "decider"] = "score"


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One player on the board.

    run: the one being played, a decider's once it has begun. place: 1 for the best score so far,
    equal scores share one; `None` for a run that ended without a score. up: to play now. out: can
    no longer win. present: has not left.
    """

    entrant: Entrant
    run: Run
    place: int | None
    up: bool
    out: bool
    won: bool
    present: bool

    @property
    def readout(self) -> Mapping[str, Decimal | int | str]:
        """The game's own values for this player: lives left, balls, yards so far."""
        return self.run.now.readout


def drawn_by_lot(players: Sequence[str], seed: int | str) -> tuple[str, ...]:
    """The players in an order drawn by lot; the same seed draws the same order."""
    return tuple(random.Random(seed).sample(list(players), len(players)))


@dataclass(frozen=True)
class Match:
    """Two to eight players on one drill.

    entrants: in seat order, late ones last. away: who has left. behind: the rounds that a late
    joiner did not play. runs: for each player their own run, then one for each decider.
    """

    turns: Turns
    tie: Tie
    entrants: tuple[Entrant, ...]
    moves: tuple[Move, ...] = ()
    away: frozenset[str] = frozenset()
    behind: Mapping[str, int] = field(default_factory=dict)
    runs: Mapping[str, tuple[Run, ...]] = field(default_factory=dict)

    @classmethod
    def begin(
        cls, entrants: Sequence[Entrant], turns: Turns = "ball", tie: Tie = "shared"
    ) -> Match:
        """A match before its first ball. Raises Refused for fewer than 2 or more than 8 players."""
        if not FEWEST_PLAYERS <= len(entrants) <= MOST_PLAYERS:
            raise Refused(
                f"a match takes {FEWEST_PLAYERS} to {MOST_PLAYERS} players, "
                f"and these are {len(entrants)}"
            )
        match = cls(turns, tie, ())
        for entrant in entrants:
            match = match._seat(entrant)
        return match

    @classmethod
    def fold(
        cls,
        entrants: Sequence[Entrant],
        moves: Iterable[Move],
        turns: Turns = "ball",
        tie: Tie = "shared",
    ) -> Match:
        """The match that these moves make. Raises Refused at the first that can't be taken.

        entrants: those who were there from the start.
        """
        match = cls.begin(entrants, turns, tie)
        for move in moves:
            if move.what is None:
                match = match.leave(move.player)
            elif isinstance(move.what, Entrant):
                match = match.join(move.what)
            else:
                match = match.add(move.player, move.what)
                if match.moves[-1].player != move.player:
                    raise Refused(f"move {len(match.moves)} does not follow from those before it")
        return match

    @property
    def better(self) -> Better:
        """Whether a high or a low score wins."""
        return self.entrants[0].game.better

    @cached_property
    def turn(self) -> Turn | None:
        """Who is to play; `None` when there is nothing left to play.

        Ball by ball it is the player who has played the fewest balls that count, so that a void
        ball is played again at once. It goes on after the decision: the others, or the winner, may
        finish their runs.
        """
        waiting = self._waiting()
        if not waiting:
            return self._outcome[1]
        if self.turns == "run":
            return Turn(waiting[0])
        return Turn(min(waiting, key=self._round))

    @property
    def decision(self) -> Decision | None:
        """Who has won, as soon as no other player can still beat or equal it; else `None`."""
        return self._outcome[0]

    def entrant(self, player: str) -> Entrant:
        """The entrant with this id."""
        return next(entrant for entrant in self.entrants if entrant.id == player)

    def target(self, kind: Kind) -> Turn | None:
        """Whose run an undo or a void acts on now, by the order of the moves; `None` if nothing."""
        place = {player: [len(run.entries) for run in runs] for player, runs in self.runs.items()}
        for move in reversed(self.moves):
            if not isinstance(move.what, Entry):
                continue
            place[move.player][move.lap] -= 1
            at, run = place[move.player][move.lap], self.runs[move.player][move.lap]
            ball = move.what.kind is Kind.SHOT and not run.voids[at]
            if run.live[at] and (kind is Kind.UNDO or ball):
                return Turn(move.player, move.lap)
        return None

    def place_of(self, player: str, entry: Entry) -> Turn:
        """Whose run an entry typed for a player goes to, and which: the next one may be a decider.

        Raises Refused, with the reason, where it can't be taken.
        """
        turn = self.turn
        if entry.kind in (Kind.UNDO, Kind.VOID):
            if (target := self.target(entry.kind)) is None:
                raise Refused(f"nothing to {entry.kind}")
            return target
        if player not in self.runs or player in self.away:
            raise Refused("not in this match")
        if entry.kind in (Kind.SHOT, Kind.BETWEEN):
            if turn is None:
                raise Refused("the match is over: undo or void to go on")
            if turn.player != player:
                raise Refused(f"it is {self.entrant(turn.player).name}'s turn")
        if turn is not None and turn.player == player:
            return turn
        return Turn(player, len(self.runs[player]) - 1)

    def add(self, player: str, entry: Entry) -> Match:
        """The match with one more entry. An undo or a void finds its own player.

        Raises Refused, with the reason, if it can't be taken.
        """
        to = self.place_of(player, entry)
        runs = self.runs[to.player]
        if to.lap == len(runs):
            entrant = self.entrant(to.player)
            runs = (*runs, Run.begin(entrant.game, entrant.between))
        played = (*runs[: to.lap], runs[to.lap].add(entry), *runs[to.lap + 1 :])
        return replace(
            self,
            moves=(*self.moves, Move(to.player, entry, to.lap)),
            runs={**self.runs, to.player: played},
        )._followed()

    def join(self, entrant: Entrant) -> Match:
        """The match with someone who comes late, or comes back, in the round that is being played.

        Raises Refused when the match is decided or full, or they are in it already.
        """
        if entrant.id in self.runs and entrant.id not in self.away:
            raise Refused(f"{entrant.name} is in this match already")
        if self.decision is not None or (entrant.id not in self.runs and self._settled()):
            raise Refused("the scores are settled: start another match")
        rounds = [self._round(e.id) for e in self.entrants if e.id not in self.away]
        match = self if entrant.id in self.runs else self._seat(entrant)
        late = min(rounds, default=0) - match._own(entrant.id).counted
        return replace(
            match,
            moves=(*match.moves, Move(entrant.id, entrant)),
            away=match.away - {entrant.id},
            behind={**match.behind, entrant.id: max(late, match.behind.get(entrant.id, 0))},
        )._followed()

    def leave(self, player: str) -> Match:
        """The match without a player, whose score stands as it is and whose run stays open."""
        if player not in self.runs or player in self.away:
            raise Refused("not in this match")
        gone = replace(self, moves=(*self.moves, Move(player, None)), away=self.away | {player})
        return gone._followed()

    def board(self) -> tuple[BoardLine, ...]:
        """Everyone, in seat order."""
        decision, turn = self._outcome[0], self.turn
        contenders = self._contenders()
        scores = {
            e.id: None if self._bounds(e.id)[1] is None else self._own(e.id).score
            for e in self.entrants
        }
        return tuple(
            BoardLine(
                entrant=entrant,
                run=self.runs[entrant.id][-1],
                place=None
                if scores[entrant.id] is None
                else 1 + sum(beats(self.better, s, scores[entrant.id]) for s in scores.values()),
                up=turn is not None and turn.player == entrant.id,
                out=entrant.id not in (contenders if decision is None else decision.winners),
                won=decision is not None and entrant.id in decision.winners,
                present=entrant.id not in self.away,
            )
            for entrant in self.entrants
        )

    def _seat(self, entrant: Entrant) -> Match:
        if entrant.id in self.runs:
            raise Refused(f"{entrant.name} twice: everyone has one place in a match")
        if len(self.entrants) == MOST_PLAYERS:
            raise Refused(f"the match is full: it takes {MOST_PLAYERS} players")
        run = Run.begin(entrant.game, entrant.between)
        return replace(
            self, entrants=(*self.entrants, entrant), runs={**self.runs, entrant.id: (run,)}
        )

    def _waiting(self) -> list[str]:
        """Those who are here and whose own run goes on."""
        return [
            e.id
            for e in self.entrants
            if e.balls is None and e.id not in self.away and not self._own(e.id).over
        ]

    def _followed(self) -> Match:
        """The match with the runs of those who are not here as far as they may be shown."""
        elsewhere = {e: e.balls for e in self.entrants if e.balls is not None}
        if not elsewhere:
            return self
        shown = None
        if self._waiting():
            shown = max(self._own(e.id).counted for e in self.entrants if e.balls is None)
        runs = {
            e.id: (Run.fold(e.game, balls[:shown], tally=True),) for e, balls in elsewhere.items()
        }
        return replace(self, runs={**self.runs, **runs})

    def _own(self, player: str) -> Run:
        return self.runs[player][0]

    def _round(self, player: str) -> int:
        return self._own(player).counted + self.behind.get(player, 0)

    def _bounds(self, player: str) -> tuple[Score, Score]:
        """The worst and the best that a player can still end with; `None` is no score."""
        run = self._own(player)
        still = player not in self.away and not run.over
        if self.better == "higher":
            return run.score, ANYTHING if still else run.score
        if still:
            return None, run.score
        return (run.score,) * 2 if run.finished else (None, None)

    def _contenders(self) -> tuple[str, ...]:
        """Those whom nobody is already sure to beat."""
        bounds = {entrant.id: self._bounds(entrant.id) for entrant in self.entrants}
        return tuple(
            player
            for player, (_, most) in bounds.items()
            if not any(beats(self.better, sure, most) for sure, _ in bounds.values())
        )

    def _settled(self) -> bool:
        """Whether the players' own runs can change nothing any more."""
        level = self._contenders()
        return len(level) == 1 or all(len(set(self._bounds(player))) == 1 for player in level)

    @cached_property
    def _outcome(self) -> tuple[Decision | None, Turn | None]:
        """The decision, and who is to play in the decider, if there is one."""
        if not self._settled():
            return None, None
        level = self._contenders()
        if self.tie == "decider" and len(level) > 1:
            return self._decider(level)
        return Decision(tuple(p for p in level if self._bounds(p)[0] is not None)), None

    def _decider(self, level: Sequence[str]) -> tuple[Decision | None, Turn | None]:
        """Fresh runs, ball by ball, until after some round one running score stands alone.

        Runs that all end level are followed by another run each.
        """
        lap, left = 1, list(level)
        while any(p not in self.away or lap < len(self.runs[p]) for p in left):
            scores = {p: self._scores(p, lap) for p in left}
            for ball in range(1, max(map(len, scores.values())) + 1):
                for player in left:
                    if len(scores[player]) <= ball and self._awaited(player, lap):
                        return None, Turn(player, lap)
                reached = {p: self._reached(p, lap, scores[p], ball) for p in left}
                left = [
                    p
                    for p in left
                    if not any(beats(self.better, s, reached[p]) for s in reached.values())
                ]
                if len(left) == 1:
                    return Decision((left[0],), "decider"), None
            lap += 1
        return Decision(tuple(left)), None

    def _awaited(self, player: str, lap: int) -> bool:
        runs = self.runs[player]
        return player not in self.away and (lap >= len(runs) or not runs[lap].over)

    def _scores(self, player: str, lap: int) -> list[Score]:
        """The running score before the first ball and after each ball of one run."""
        runs, game = self.runs[player], self.entrant(player).game
        state = game.start()
        scores = [game.score(state)]
        for shot in runs[lap].shots if lap < len(runs) else ():
            state = game.after(state, shot)
            scores.append(game.score(state))
        return scores

    def _reached(self, player: str, lap: int, scores: Sequence[Score], ball: int) -> Score:
        """The running score after a round; none for who left or gave up before it."""
        if ball < len(scores):
            return scores[ball]
        runs = self.runs[player]
        return scores[-1] if lap < len(runs) and runs[lap].finished else None
