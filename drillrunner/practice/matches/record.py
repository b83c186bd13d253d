"""What is kept of a match beside its runs: how it is played, who came and went, how it came out.

Players are named by their place in the match, which no import or change of a name moves. The
entries themselves lie with the runs; `Record` only says where between them somebody joined or left.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from drillrunner.practice.matches.match import Decision, Match, Tie, Turns
from drillrunner.rules import Score
from drillrunner.rules.units import Unit, plain


@dataclass(frozen=True)
class Newcomer:
    """Somebody who is not known yet, and what was said of them. column: of the accuracy table."""

    name: str
    index: Decimal | None = None
    column: Literal["men", "women"] | None = None


@dataclass(frozen=True)
class Setup:
    """A match as it is wanted. players: names, in their order unless it is drawn by lot.

    new: those of them who are added, with what was said of them.
    gathering: the one that begins as this match, where it is between bays.
    written: of those in their order, from 0, who plays the drill as written once dials are turned.
    """

    players: tuple[str, ...]
    turns: Turns = "ball"
    draw: bool = False
    tie: Tie = "shared"
    fair: bool = False
    written: int = 0
    new: tuple[Newcomer, ...] = ()
    gathering: int | None = None


class Kept(BaseModel):
    """Base of what is kept as JSON."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Coming(Kept):
    """Somebody joined or left. after: how many entries of the match came before."""

    after: int
    place: int
    what: Literal["join", "leave"]


class Result(Kept):
    """How a match came out, as far as it was played. winners: several shared it.

    scores, ranks: by place in the match; a rank is 1 for the best, `None` for no score.
    """

    winners: tuple[int, ...]
    by: Literal["score", "decider"]
    scores: dict[int, int | float | None]
    ranks: dict[int, int | None]


class MatchRecord(Kept):
    """A match as it is kept. seats: who were there from the start. moves: entries and comings.

    written: the place of who plays the drill as written; late comers play it too.
    result: `None` until it is decided. challenge: the file played against. broken: where and why
    its game raised, which ended it.
    """

    turns: Turns
    tie: Tie
    fair: bool
    title: str
    seats: int
    written: int = 1
    moves: int = 0
    comings: tuple[Coming, ...] = ()
    result: Result | None = None
    challenge: str | None = None
    broken: str | None = None

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> MatchRecord:
        """From what the store has. Raises ValueError in one line."""
        try:
            return cls.model_validate_json(json.dumps(data))
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            where = ".".join(map(str, first["loc"]))
            raise ValueError(f"what is kept of the match: {where}: {first['msg']}") from None

    def data(self) -> dict[str, Any]:
        """As the store takes it."""
        return self.model_dump(mode="json", exclude_defaults=True)

    def after(
        self, match: Match, places: Mapping[str, int], coming: Coming | None = None
    ) -> MatchRecord:
        """The record one move later. match: as it stands then; places: by entrant."""
        comings = self.comings if coming is None else (*self.comings, coming)
        known = {"moves": self.moves + 1, "comings": comings, "result": result(match, places)}
        return self.model_copy(update=known)


def result(match: Match, places: Mapping[str, int]) -> Result | None:
    """How a match came out; `None` while it is not decided. places: of those who are kept."""
    decision = match.decision
    if decision is None:
        return None
    lines = [line for line in match.board() if line.entrant.id in places]
    own = {line.entrant.id: match.runs[line.entrant.id][0] for line in lines}
    return Result(
        winners=tuple(places[player] for player in decision.winners if player in places),
        by=decision.by,
        scores={places[player]: _plain(run.score) for player, run in own.items()},
        ranks={places[line.entrant.id]: line.place for line in lines},
    )


def _plain(score: Score) -> int | float | None:
    return None if score is None else plain(score)


def won(decision: Decision, names: Mapping[str, str]) -> str:
    """Who has won, in words."""
    winners = [names[player] for player in decision.winners]
    if not winners:
        return "nobody reached a score: no winner"
    if len(winners) > 1:
        return f"{', '.join(winners[:-1])} and {winners[-1]} share it"
    return f"{winners[0]} wins" + (" the decider" if decision.by == "decider" else "")


def common_unit(units: Sequence[Unit], written: Unit) -> Unit:
    """The one unit that a match is played in: the players' own, or the drill's if they differ.

    A fair fight needs one target for all, and a drill turned into two units is two targets.
    """
    return units[0] if len(set(units)) == 1 else written
