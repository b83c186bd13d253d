"""A match in the store: every move is on disk, in its order, before anybody sees it.

The rules of a match are in `practice.matches`; here its runs are begun, taken up again and written.
A challenge is a match against somebody who is not here: that run is known from a file and is shown
ball by ball, as many as have been played here.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, NamedTuple

from drillrunner.catalogue.drill import BadDrill, Drill, from_stored
from drillrunner.catalogue.loader import LoadedGame
from drillrunner.practice.looking_back.run_words import resumed_words
from drillrunner.practice.matches import challenge as challenges
from drillrunner.practice.matches.challenge import Challenge
from drillrunner.practice.matches.match import BoardLine, Entrant, Match, Move, Turn
from drillrunner.practice.matches.record import Coming, MatchRecord, Setup, result
from drillrunner.rules import Entry, Refused, Run
from drillrunner.store.errors import BrokenGame, PlayedElsewhere, StoreError
from drillrunner.store.journal import Playing
from drillrunner.store.shapes import MatchInfo, MatchPlayer, PlayerInfo
from drillrunner.store.store import Store

GHOST = "challenge"
"""The entrant of a challenge, who has no place in the store."""


class Taken(NamedTuple):
    """An entry that is on disk: whose run it went to, that run before and after it, and the match
    after it.
    """

    name: str
    before: Run
    after: Run
    match: Match


@dataclass(frozen=True)
class Seat:
    """Somebody to play, and the drill as it is set for them."""

    player: PlayerInfo
    drill: Drill


class MatchDesk:
    """One match in progress, or at its end. Every method that changes it writes first.

    They raise Refused for what can't be done now; PlayedElsewhere, after reading again, if another
    terminal was first; StoreError, with nothing changed, if it could not be written.

    own: in a match between bays, who types here: their own balls and nobody else's. `None` where
    everybody types on one screen.
    """

    def __init__(
        self,
        store: Store,
        games: Mapping[str, LoadedGame],
        info: MatchInfo,
        record: MatchRecord,
        own: str | None = None,
    ) -> None:
        self.store = store
        self.own = own
        self.games = games
        self.info = info
        self.record = record
        self.ghost = None if record.challenge is None else challenges.read(record.challenge, games)
        self.drills: dict[str, Drill] = {}
        self.people: dict[str, PlayerInfo] = {}
        self.playings: dict[Turn, Playing] = {}
        self.match: Match

    @classmethod
    def start(
        cls,
        store: Store,
        games: Mapping[str, LoadedGame],
        seats: Sequence[Seat],
        setup: Setup,
        challenge: tuple[Challenge, str] | None = None,
        own: str | None = None,
    ) -> MatchDesk:
        """A new match. seats: in their order. challenge: what is played against, and its file.
        own: as of the class.

        Raises Refused for too few or too many players; StoreError if one of them has an open run
        of the drill.
        """
        drill = seats[0].drill
        record = MatchRecord(
            turns=setup.turns,
            tie=setup.tie,
            fair=setup.fair,
            title=drill.title,
            seats=len(seats),
            written=setup.written + 1,
            challenge=None if challenge is None else challenge[1],
        )
        ghost = None if challenge is None else challenge[0]
        match = Match.begin(_entrants(seats, ghost), setup.turns, setup.tie)
        for seat in seats:
            if store.open_run(seat.player.id, drill.id) is not None:
                raise StoreError(f"{seat.player.name} has an open run of {drill.title}")
        drills = [(seat.player.id, seat_data(seat.drill)) for seat in seats]
        info = store.add_match(drill.id, drills, record.data(), setup.gathering)
        desk = cls(store, games, info, record, own)
        for seat in seats:
            desk._sit(seat)
        desk.match = match
        desk._look_up()
        return desk

    @classmethod
    def resume(
        cls,
        store: Store,
        games: Mapping[str, LoadedGame],
        match_id: str,
        own: str | None = None,
    ) -> MatchDesk:
        """A match as it was left. own: as of the class.

        Raises StoreError, saying why, if it can't be gone on with.
        """
        info = store.match(match_id)
        try:
            desk = cls(store, games, info, MatchRecord.of(info.data), own)
            desk._fold()
        except (ValueError, Refused) as error:
            title = info.data.get("title", info.drill)
            raise StoreError(f"the match of {title} can't be gone on with: {error}") from error
        desk._put_right()
        desk._look_up()
        return desk

    # ---- how it stands ----

    @property
    def title(self) -> str:
        """The drill's title."""
        return self.record.title

    @property
    def turn(self) -> Turn | None:
        """Who is to play; `None` at the end."""
        return self.match.turn

    @property
    def board(self) -> tuple[BoardLine, ...]:
        """Everyone, in their order."""
        return self.match.board()

    @property
    def names(self) -> dict[str, str]:
        """Entrant to name."""
        return {entrant.id: entrant.name for entrant in self.match.entrants}

    @property
    def up(self) -> Turn:
        """Whose run is in hand: the one to play, else the one that was played last."""
        return _up(self.match)

    @property
    def last(self) -> str:
        """The latest entry in words, and whose run it went to; empty before the first."""
        for move in reversed(self.match.moves):
            if isinstance(move.what, Entry):
                run = self.match.runs[move.player][move.lap]
                return f"{self.names[move.player]}: {resumed_words(run)}"
        return ""

    def ahead(self, match: Match, entries: Iterable[Entry]) -> Run:
        """The run in hand once these entries of a match are on disk. Nothing is changed."""
        match = _with(match, entries)
        up = _up(match)
        runs = match.runs[up.player]
        if up.lap < len(runs):
            return runs[up.lap]
        entrant = match.entrant(up.player)
        return Run.begin(entrant.game, entrant.between)

    def playing(self, turn: Turn | None = None) -> Playing:
        """A run of the match (else the one in hand); a decider's may not have begun yet."""
        to = turn or self.up
        if to not in self.playings:
            self.playings[to] = self._begun(to)
        return self.playings[to]

    def _begun(self, to: Turn) -> Playing:
        drill = self.drills[to.player]
        if self.own not in (None, to.player):
            # It is looked at here, and written where its player is.
            return self.store.begin(to.player, drill, match_id=self.info.id, decider=True)
        other = None if to.lap else self.store.open_run(to.player, drill.id)
        if other is not None and other.match_id == self.info.id:
            self._reread()
            raise PlayedElsewhere("this match is being played elsewhere: look at it first")
        if other is not None:
            raise StoreError(
                f"{other.player} has another run of {other.title} open: finish it or give it up"
            )
        return self.store.begin(to.player, drill, match_id=self.info.id, decider=to.lap > 0)

    @property
    def as_written(self) -> Drill:
        """The drill as it was written for the match, with no dial turned for anybody."""
        places = {place: player for player, place in self._places().items()}
        return self.drills[places[self.record.written]]

    # ---- moves ----

    def keep(self, entry: Entry, typed: datetime | None = None) -> Taken:
        """Take an entry, which is typed for the player in hand. An undo or void finds its own.

        typed: when that was. Raises BrokenGame if the game raises, which ends that run and the
        match.
        """
        types = self.up.player if self.own is None else self.own
        to = self.match.place_of(types, entry)
        if self.own is not None and to.player != self.own:
            name = self.names[to.player]
            raise Refused(f"the latest is {name}'s, and only {name} takes it back")
        playing = self.playing(to)
        before = playing.run
        try:
            after = self.match.add(types, entry)
            record = self._after(after)
            if after.turn is not None:
                # What may fail, fails before anything is written.
                self.playing(after.turn)
        except (Refused, StoreError):
            raise
        except Exception as error:
            raise self.fail(error, playing, entry) from error
        data = record.data()
        try:
            run = self.store.append_in_match(
                playing, entry, self.info, data, ends=after.turn is None, at=typed
            )
        except BrokenGame as broken:
            self.end_broken(broken)
            raise
        except PlayedElsewhere:
            self._reread()
            raise
        self._now(after, record, data)
        return Taken(self.names[to.player], before, run, after)

    def leave(self, player: str) -> None:
        """Somebody leaves: their score stands, and their run stays open."""
        self._come_or_go(self.match.leave(player), player, "leave")

    def join(self, seat: Seat) -> None:
        """Somebody comes late, or comes back."""
        player = seat.player
        known = player.id in self.match.runs
        entrant = self.match.entrant(player.id) if known else _entrant(seat)
        after = self.match.join(entrant)
        if not known:
            if self.store.open_run(player.id, seat.drill.id) is not None:
                raise StoreError(f"{player.name} has an open run of {self.title}")
            self.info = self.store.change_match_player(
                self.info.id, player.id, seat_data(seat.drill)
            )
            self._sit(seat)
        self._come_or_go(after, player.id, "join")

    def close(self) -> None:
        """End the match as it stands: what is open of its runs stays open and can be finished."""
        if self.info.ended_at is None:
            self.info = self.store.change_match(self.info.id, ends=True)

    def give_up(self) -> None:
        """End the match and give up all of its runs that are open: kept, and no bests."""
        self.close()
        for run in {playing.id for playing in self.playings.values() if playing.begun}:
            stored = self.store.run(run)
            if stored is not None and stored.ended is None:
                self.store.give_up(run)

    @property
    def known(self) -> int:
        """How many entries are known of it."""
        return sum(isinstance(move.what, Entry) for move in self.match.moves)

    def write_anew(self) -> None:
        """After `Moved`: write the match and its runs to the file that is there now.

        Raises as the store's `write_match_anew`.
        """
        typed = [move for move in self.match.moves if isinstance(move.what, Entry)]
        places: dict[Turn, list[int]] = {}
        for place, move in enumerate(typed, 1):
            places.setdefault(Turn(move.player, move.lap), []).append(place)
        people = [self.people[seat.player_id] for seat in self.info.players]
        runs = [(self.playings[turn], which) for turn, which in places.items()]
        self.store.write_match_anew(self.info, people, runs)
        # Who was found there by name has another id.
        self._reread()

    def write_runs_anew(self, match: Match, entries: Iterable[Entry]) -> None:
        """As `write_anew`, where the others play elsewhere: its runs, with these entries of a match
        too. The match itself is not there and ends here.
        """
        after = _with(match, entries)
        for turn, playing in self.playings.items():
            known = playing.run
            more = after.runs[turn.player][turn.lap :][:1]
            if known.entries or (more and more[0].entries):
                self.store.write_anew(playing)
                for run in more:
                    playing.append_all(run.entries[len(known.entries) :])

    def fail(self, error: Exception, playing: Playing, entry: Entry | None = None) -> BrokenGame:
        """The game raised: end that run and the match; the error to show."""
        try:
            if entry is not None:
                playing.append(entry)
        except BrokenGame as broken:
            found = broken
        else:
            found = playing.fail(error)
        self.end_broken(found)
        return found

    def follow(self, fresh: MatchDesk) -> bool:
        """Take in how it stands on disk by now, if that is later; whether it is.

        fresh: the same match, read just now.
        """
        later = fresh.record.moves > self.record.moves
        ended = (fresh.info.ended_at is None) != (self.info.ended_at is None)
        if later or (ended and fresh.record.moves == self.record.moves):
            self.__dict__.update(fresh.__dict__)
            return True
        return False

    # ---- inside ----

    def _come_or_go(self, after: Match, player: str, what: Literal["join", "leave"]) -> None:
        coming = Coming(after=self.known, place=self._places()[player], what=what)
        record = self._after(after, coming)
        data = record.data()
        try:
            self.store.change_match(
                self.info.id, data, ends=after.turn is None, known=self.info.data
            )
        except PlayedElsewhere:
            self._reread()
            raise
        self._now(after, record, data)
        self._look_up()

    def _look_up(self) -> None:
        """Have everybody's run at hand: what shows the match asks for them, and not the store."""
        for player in self.people:
            self.playing(Turn(player))
        self.playing()

    def _after(self, match: Match, coming: Coming | None = None) -> MatchRecord:
        return self.record.after(match, self._places(), coming)

    def _now(self, match: Match, record: MatchRecord, data: Mapping[str, Any]) -> None:
        # As the store would give it back, so that the next change is made to what lies there.
        kept = json.loads(json.dumps(data))
        ended = self.store.clock() if match.turn is None else None
        self.info = self.info._replace(data=kept, ended_at=ended)
        self.match, self.record = match, record

    def end_broken(self, broken: BrokenGame) -> None:
        """End the match because its game raised."""
        record = self.record.model_copy(update={"broken": str(broken)})
        self.info = self.store.change_match(self.info.id, record.data(), ends=True)
        self.record = record

    def _places(self) -> dict[str, int]:
        return {seat.player_id: seat.place for seat in self.info.players}

    def _sit(self, seat: Seat) -> None:
        self.drills[seat.player.id] = seat.drill
        self.people[seat.player.id] = seat.player

    def _reread(self) -> None:
        fresh = MatchDesk.resume(self.store, self.games, self.info.id, self.own)
        self.__dict__.update(fresh.__dict__)

    def _fold(self) -> None:
        """The match from what lies on disk. Raises Refused, ValueError, StoreError."""
        if self.record.broken is not None:
            raise ValueError(self.record.broken)
        seats = {seat.place: self._seat(seat) for seat in self.info.players}
        start = [seat for place, seat in sorted(seats.items()) if place <= self.record.seats]
        if len(start) != self.record.seats:
            raise ValueError("one of its players was taken away")
        moves: list[tuple[int, Move]] = []
        laps: dict[str, int] = {}
        for stored in reversed(self.store.history(match_id=self.info.id)):
            lap = laps[stored.player_id] = laps.get(stored.player_id, -1) + 1
            turn = Turn(stored.player_id, lap)
            self.playings[turn] = self.store.resume(stored.run, self.games)
            entries = zip(
                self.store.entries(stored.run), self.playings[turn].run.entries, strict=True
            )
            moves += [
                (kept.match_order or 0, Move(turn.player, entry, lap)) for kept, entry in entries
            ]
        moves.sort(key=lambda move: move[0])
        told = [move for _, move in moves]
        for number, coming in enumerate(self.record.comings):
            seat = seats.get(coming.place)
            if seat is None:
                raise ValueError("one of its players was taken away")
            what = _entrant(seat) if coming.what == "join" else None
            told.insert(coming.after + number, Move(seat.player.id, what))
        self.match = Match.fold(
            _entrants(start, self.ghost), told, self.record.turns, self.record.tie
        )

    def _put_right(self) -> None:
        """What follows for the match from a run that was given up outside of it."""
        found = result(self.match, self._places())
        over = self.match.turn is None
        if found != self.record.result or over != (self.info.ended_at is not None):
            self.record = self.record.model_copy(update={"result": found})
            self.info = self.store.change_match(
                self.info.id, self.record.data(), ends=over, known=self.info.data
            )

    def _seat(self, kept: MatchPlayer) -> Seat:
        drill = drill_of_seat(kept.data, self.games)
        seat = Seat(self.store.player_of(kept.player_id), drill)
        self._sit(seat)
        return seat


def _with(match: Match, entries: Iterable[Entry]) -> Match:
    """A match with these entries typed for who is in hand."""
    for entry in entries:
        # What can't be taken, or a game that raises, is told of when it is written.
        with suppress(Exception):
            match = match.add(_up(match).player, entry)
    return match


def _up(match: Match) -> Turn:
    """Whose run is in hand: the one to play, else the one that was played last."""
    if match.turn is not None:
        return match.turn
    for move in reversed(match.moves):
        if isinstance(move.what, Entry):
            return Turn(move.player, move.lap)
    return Turn(match.entrants[0].id)


def _entrant(seat: Seat) -> Entrant:
    return Entrant(seat.player.id, seat.player.name, seat.drill.game(), seat.drill.between)


def _entrants(seats: Sequence[Seat], ghost: Challenge | None) -> list[Entrant]:
    found = [_entrant(seat) for seat in seats]
    if ghost is not None:
        found.append(Entrant(GHOST, ghost.name, ghost.drill.game(), balls=ghost.balls))
    return found


def seat_data(drill: Drill) -> dict[str, Any]:
    """A player's drill as set, for the run that may not have begun yet."""
    return {"drill": json.loads(drill.as_set()), "game_hash": drill.game_hash}


def drill_of_seat(data: Mapping[str, Any], games: Mapping[str, LoadedGame]) -> Drill:
    """The drill that a place in a match was set to. Raises ValueError."""
    as_set = data.get("drill")
    if not isinstance(as_set, dict):
        raise ValueError("what is kept of its players can't be read")
    game = games.get(str(as_set.get("game")))
    if game is None:
        raise ValueError(f"its game {as_set.get('game')} is not there any more")
    if game.hash != data.get("game_hash"):
        raise ValueError(f"its game {as_set.get('game')} has changed since")
    try:
        return from_stored(json.dumps(as_set), game.cls, game.hash)
    except BadDrill as error:
        raise ValueError(str(error)) from error
