"""Databases with something of everything in them, for the tests of what goes out and in."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path

from hypothesis import strategies as st

from drillrunner.catalogue.courses import load_courses
from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.rules import Entry, Kind, Refused
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.keypad import read
from drillrunner.rules.scorecard import told_hole
from drillrunner.store import bringing, documents, exchange
from drillrunner.store.database import WAIT
from drillrunner.store.errors import StoreError
from drillrunner.store.round_book import NewRound
from drillrunner.store.store import Store
from tests.rules.bundled import ANSWERS

NAMES = ("Ines", "Tobi", "Mara")
DRILLS = (
    *("hold-the-corridor", "miss-total-five", "on-the-number", "number-between-drives"),
    *("call-the-wedges", "chips-and-putts", "six-long-putts", "holes-of-larch-bottom"),
)


@cache
def catalogue() -> Catalogue:
    return load([bundled("games")])


class Ticking:
    """A clock that moves on by half a minute at each look, in one offset after another."""

    def __init__(self, start: str = "2026-03-01T10:00:00+00:00") -> None:
        self.now = datetime.fromisoformat(start)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=30)
        hours = self.now.minute % 3
        return self.now.astimezone(UTC if not hours else _zone(hours))


@cache
def _zone(hours: int):
    from datetime import timezone

    return timezone(timedelta(hours=hours))


acts = st.tuples(
    st.sampled_from(
        ("play",) * 10
        + ("undo", "void", "note", "give up", "session", "event", "stock", "index", "match")
        + ("round", "hole", "goal", "thought")
    ),
    st.sampled_from(NAMES),
    st.sampled_from(DRILLS),
    st.integers(0, 4),
)
stories = st.lists(acts, max_size=40)


@cache
def as_made() -> bytes:
    """What lies in a database that was just made, which takes far longer than to write this."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "new.db"
        Store.open(path, throwaway=True).close()
        return path.read_bytes()


def opened(path: Path, clock: Callable[[], datetime] | None = None, wait: float = WAIT) -> Store:
    """A database that nobody minds if it is lost with the power, new if none lies there."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(as_made())
    return Store.open(path, clock or Ticking(), wait, throwaway=True)


def lived(store: Store, story: Sequence[tuple[str, str, str, int]]) -> Store:
    """The store after all of this has been done in it."""
    match: str | None = None
    for act, name, id, pick in story:
        player = store.player(name) or store.add_player(name, unit="m" if pick == 4 else "yd")
        try:
            if act == "session":
                store.add_session(player.id, {"plan": "short", "minutes": pick, "nothing": None})
            elif act == "event":
                session = store.open_sessions(player.id)[0]
                data = {"block": "aim", "value": 2.5}
                store.append_event(
                    session.id, len(session.events) + 1, "ball", data, ends=pick == 3
                )
            elif act == "stock":
                carry, spread = Decimal(80 + pick), Decimal("2.25")
                store.save_stock_carry(
                    player.id, "gap-wedge", "half", carry=carry, low=carry - 3, high=carry + 3,
                    spread=spread, unit="yd", data={"shots": [1, 2]},
                )  # fmt: skip
            elif act == "index":
                store.change_player(player.id, index=Decimal(pick) + Decimal("0.5"), hand="left")
            elif act == "round":
                course = load_courses([bundled("games") / "courses"]).courses[0]
                day = store.clock().date()
                store.rounds.add(
                    player.id, NewRound(day, "full", course.id, course.as_kept, course.tees[0].name)
                )
            elif act == "hole":
                found = store.rounds.of(player.id)[-1]
                hole = HolePlayed(pick + 1, approach=Decimal("150.5"), score=pick + 2)
                store.rounds.tell(found.id, found.seq + 1, "hole", told_hole(hole))
            elif act == "goal":
                store.intents.set_goal(player.id, Decimal(pick) if pick else None, None)
            elif act == "thought":
                store.intents.set_thought(player.id, "slow back" if pick else None)
            elif act == "match":
                match = store.add_match(id, [(player.id, {"dial": 1.5})], {"turns": "ball"}).id
            else:
                _played(store, player.id, act, id, pick, match)
        except (Refused, StoreError, IndexError):
            continue
    return store


def _played(store: Store, player: str, act: str, id: str, pick: int, match: str | None) -> None:
    found = store.open_run(player, id)
    playing = (
        store.resume(found.run, catalogue().games)
        if found
        else store.begin(player, catalogue().drill(id), match_id=match if pick % 2 else None)
    )
    run = playing.run
    kinds = {"undo": Kind.UNDO, "void": Kind.VOID, "give up": Kind.GIVE_UP}
    if act == "note":
        entry = Entry(Kind.NOTE, "wind ¾ left, “gusts”\n=1+1")
    elif act in kinds:
        entry = Entry(kinds[act], act)
    elif run.between_due:
        entry = Entry(Kind.BETWEEN)
    else:
        entry = read(ANSWERS[run.ask.asks][pick], run.ask)
    playing.append(entry)


def document(store: Store) -> str:
    return "".join(exchange.write(store.database))


def brought(store: Store, text: str) -> bringing.Brought:
    return bringing.bring_in(store.database, documents.read(text), catalogue().games)
