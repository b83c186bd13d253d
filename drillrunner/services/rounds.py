"""A player's rounds as they lie in the store, folded: what needs, index and plan are read from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from drillrunner.catalogue.courses import Course
from drillrunner.practice.rounds.handicap import Options
from drillrunner.practice.rounds.played import PlayedRound, PlayerRounds, TypedIndexes, together
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.scorecard import CardFact, Scorecard, told_hole
from drillrunner.rules.units import convert, plain
from drillrunner.services import association
from drillrunner.store.round_book import NewRound
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

if TYPE_CHECKING:
    from drillrunner.odds.strokes.needs import CardHole
    from drillrunner.practice.rounds.score_file import ScoreRow


def player_rounds(store: Store, player: PlayerInfo, options: Options | None = None) -> PlayerRounds:
    """All rounds of a player in the order in which they were played, and their record.

    options: else what the association chose, by the user's own file.
    Raises StoreError. A round that can't be read is left out, and named among the damaged.
    """
    chosen = association.options() if options is None else options
    return together(store.rounds.of(player.id), typed_indexes(store, player), chosen)


def typed_indexes(store: Store, player: PlayerInfo) -> TypedIndexes:
    """The handicap indexes that were typed, by local day, oldest first."""
    return [(at.date(), index) for at, index in store.handicaps(player.id)]


def current_index(store: Store, player: PlayerInfo) -> Decimal | None:
    """The index worked out from the rounds, else the one typed; `None` without either."""
    return player_rounds(store, player).index


def told_rounds(rounds: PlayerRounds, latest: int | None = None) -> tuple[PlayedRound, ...]:
    """The rounds that tell where strokes went, oldest first: finished, and not the score alone."""
    telling = [
        one
        for one in rounds.rounds
        if one.card.finished and not one.card.out and one.form != "score"
    ]
    return tuple(telling if latest is None else telling[-latest:])


def card_holes(one: PlayedRound) -> tuple[CardHole, ...]:
    """The holes of a round as the split of the strokes takes them, lengths in yards."""
    from drillrunner.odds.strokes.needs import CardHole

    if one.course is None or one.tee is None:
        return ()
    yards = float(convert(Decimal(1), one.course.unit, "yd"))
    return tuple(
        CardHole(
            one.course.holes[number - 1].par,
            one.course.yards(number, one.tee),
            one.card.holes[number],
            yards,
        )
        for number in one.numbers
        if number in one.card.holes
    )


def cards(rounds: Iterable[PlayedRound]) -> tuple[tuple[CardHole, ...], ...]:
    """`card_holes` of each."""
    return tuple(map(card_holes, rounds))


def card_round(
    course: Course,
    tee: str,
    day: date,
    holes: Sequence[HolePlayed],
    pcc: int | None = None,
    shown: Decimal | None = None,
    order: int | None = None,
) -> NewRound:
    """A whole card as a finished round."""
    about: list[tuple[CardFact, dict[str, Any]]] = [("hole", told_hole(hole)) for hole in holes]
    if pcc:
        about.append(("pcc", {"pcc": pcc}))
    if shown is not None:
        about.append(("shown", {"differential": plain(shown)}))
    if order is not None:
        about.append(("order", {"order": order}))
    pars = {hole.hole: course.holes[hole.hole - 1].par for hole in holes}
    form = Scorecard({hole.hole: hole for hole in holes}).form(pars)
    numbers = {"holes": [hole.hole for hole in holes]}
    return NewRound(day, form, course.id, course.as_kept, tee, numbers, [*about, ("finished", {})])


def list_rounds(rows: Iterable[ScoreRow]) -> Iterator[NewRound]:
    """Scores of a list as finished rounds without a course."""
    for row in rows:
        known = {"gross": row.gross, "rating": row.rating, "slope": row.slope, "holes": row.holes}
        told: list[tuple[CardFact, dict[str, Any]]] = []
        if row.pcc:
            told.append(("pcc", {"pcc": row.pcc}))
        if row.differential is not None:
            told.append(("shown", {"differential": plain(row.differential)}))
        data = {
            name: plain(value) if isinstance(value, Decimal) else value
            for name, value in known.items()
            if value is not None
        }
        yield NewRound(row.day, "score", data=data, told=[*told, ("finished", {})])


def doubles(rows: Sequence[ScoreRow], known: Iterable[PlayedRound]) -> tuple[ScoreRow, ...]:
    """Scores of a day and place that there is one of already, here or earlier in the list."""
    seen = {(one.info.day, _place(one)) for one in known if not one.card.out}
    found = []
    for row in rows:
        if (row.day, row.place) in seen:
            found.append(row)
        seen.add((row.day, row.place))
    return tuple(found)


def _place(one: PlayedRound) -> tuple[object, ...]:
    """As `ScoreRow.place`, of a round that is kept."""
    if one.tee is not None:
        return (one.tee.rating, one.tee.slope)
    rating, slope = one.info.data.get("rating"), one.info.data.get("slope")
    if rating is None or slope is None:
        return (one.card.shown, one.gross)
    return (Decimal(str(rating)), slope)
