"""Keeps a match: each move is on disk before it shows, and a killed match goes on as it was.

The players' runs lie in the journal as any others; their entries carry their order number in the
match. Joining and leaving lie in the match's own data, each with the number of entries before it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drillrunner.catalogue.drill import BadDrill, Drill, from_stored
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.practice.match import Entrant, Match, Move, Tie, Turn, Turns
from drillrunner.rules import Entry, Refused
from drillrunner.store.errors import StoreError
from drillrunner.store.journal import Playing
from drillrunner.store.shapes import MatchInfo, MatchPlayer, PlayerInfo
from drillrunner.store.store import Store

Data = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Seat:
    """A player and the drill as it is set for them."""

    player: PlayerInfo
    drill: Drill

    def entrant(self) -> Entrant:
        """The player as the match knows them."""
        return Entrant(self.player.id, self.player.name, self.drill.game(), self.drill.between)

    def data(self, late: bool) -> Data:
        """What is kept of the seat, so that it can be taken again before its first ball."""
        return {"as_set": self.drill.as_set(), "game_hash": self.drill.game_hash, "late": late}


class MatchKeeper:
    """A match that is being played.

    match: as it stands on disk. seats: by player. playings: each run that has begun, by player and
    lap.
    """

    def __init__(self, store: Store, info: MatchInfo, seats: Sequence[Seat], match: Match) -> None:
        self.store = store
        self.id = info.id
        self.match = match
        self.seats = {seat.player.id: seat for seat in seats}
        self.playings: dict[Turn, Playing] = {}
        self._data = dict(info.data)
        self._closed = info.ended_at is not None

    def add(self, player: str, entry: Entry) -> Match:
        """Take one entry typed for a player; an undo or a void finds its own run by the order.

        Raises Refused; PlayedElsewhere, BrokenGame or StoreError, as the run's journal does.
        """
        self._playing(self.match.place_of(player, entry)).append(entry)
        self.match = self.match.add(player, entry)
        self._close()
        return self.match

    def join(self, seat: Seat) -> Match:
        """Let someone in late, or back in. Raises Refused, StoreError."""
        match = self.match.join(seat.entrant())
        if seat.player.id not in self.seats:
            self.store.change_match_player(self.id, seat.player.id, seat.data(late=True))
            self.seats[seat.player.id] = seat
        return self._came(match, seat.player.id, "join")

    def leave(self, player: str) -> Match:
        """Let someone go; their run stays open, to be gone on with alone. Raises Refused."""
        return self._came(self.match.leave(player), player, "leave")

    def end(self) -> None:
        """Close the match as it stands: what is not decided stays so, and runs stay open."""
        self.store.change_match(self.id, ends=True)
        self._closed = True

    def _came(self, match: Match, player: str, what: str) -> Match:
        after = sum(isinstance(move.what, Entry) for move in match.moves)
        came = [*self._data.get("came", ()), {"after": after, "player": player, "what": what}]
        self._data["came"] = came
        self.store.change_match(self.id, self._data)
        self.match = match
        self._close()
        return match

    def _close(self) -> None:
        """A match that has nothing left to play is over; one that goes on again is not."""
        over = self.match.turn is None
        if over != self._closed:
            self.store.change_match(self.id, ends=over)
            self._closed = over

    def _playing(self, to: Turn) -> Playing:
        if to not in self.playings:
            seat = self.seats[to.player]
            self.playings[to] = self.store.begin(
                to.player, seat.drill, match_id=self.id, decider=to.lap > 0
            )
        return self.playings[to]


def begin(
    store: Store, seats: Sequence[Seat], turns: Turns = "ball", tie: Tie = "shared"
) -> MatchKeeper:
    """A new match in this order. Raises Refused, StoreError if someone's run of it is open."""
    match = Match.begin([seat.entrant() for seat in seats], turns, tie)
    for seat in seats:
        if store.open_run(seat.player.id, seat.drill.id) is not None:
            raise StoreError(
                f"{seat.player.name} has an open run of {seat.drill.title}: finish it or give it up"
            )
    players = [(seat.player.id, seat.data(late=False)) for seat in seats]
    info = store.add_match(seats[0].drill.id, players, {"turns": turns, "tie": tie, "came": []})
    return MatchKeeper(store, info, seats, match)


def resume(store: Store, match_id: str, games: Mapping[str, LoadedGame]) -> MatchKeeper:
    """A match as it was left. Raises StoreError if its game has gone or changed."""
    info = store.match(match_id)
    seats = {seat.player_id: _seat(store, info, seat, games) for seat in info.players}
    late = {seat.player_id for seat in info.players if seat.data.get("late")}
    playings: dict[Turn, Playing] = {}
    typed: list[tuple[int, str, Entry]] = []
    for run in reversed(store.history(match_id=match_id)):
        lap = 1 if run.decider else 0
        while Turn(run.player_id, lap) in playings:
            lap += 1
        playing = playings[Turn(run.player_id, lap)] = store.resume(run.run, games)
        stored = store.entries(run.run)
        typed += [
            (entry.match_order or len(stored) + 10**9, run.player_id, kept)
            for entry, kept in zip(stored, playing.run.entries, strict=True)
        ]
    typed.sort(key=lambda one: one[0])
    try:
        match = Match.fold(
            [seat.entrant() for id, seat in seats.items() if id not in late],
            _moves([(player, entry) for _, player, entry in typed], info.data, seats),
            info.data["turns"],
            info.data["tie"],
        )
    except (Refused, KeyError, TypeError, ValueError) as error:
        raise StoreError(f"this match can't be gone on with: {error}") from None
    kept = MatchKeeper(store, info, list(seats.values()), match)
    kept.playings = playings
    return kept


def _moves(
    typed: Sequence[tuple[str, Entry]], data: Data, seats: Mapping[str, Seat]
) -> Sequence[Move]:
    """Entries in their order, with who came and went in between."""
    moves = [Move(player, entry) for player, entry in typed]
    for placed, came in enumerate(data.get("came", ())):
        joins = came["what"] == "join"
        what = seats[came["player"]].entrant() if joins else None
        moves.insert(came["after"] + placed, Move(came["player"], what))
    return moves


def _seat(
    store: Store, info: MatchInfo, seat: MatchPlayer, games: Mapping[str, LoadedGame]
) -> Seat:
    kept = seat.data.get("as_set", "{}")
    game = next((g for g in games.values() if g.hash == seat.data.get("game_hash")), None)
    if game is None:
        raise StoreError(f"{info.drill}: the game of this match has gone or changed since")
    try:
        drill = from_stored(kept, game.cls, game.hash)
    except BadDrill as error:
        raise StoreError(f"{info.drill}: {error}") from None
    return Seat(store.player_of(seat.player_id), drill)
