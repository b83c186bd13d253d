"""Players, indexes, clubs, and what sessions and matches keep."""

from __future__ import annotations

from datetime import UTC
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.run import Entry, Kind
from drillrunner.store.errors import Conflict, PlayedElsewhere, StoreError
from drillrunner.store.stored import exact, hundredths, moment, stamp
from tests.store.conftest import entry


def test_a_name_is_found_whatever_its_case(store):
    added = store.add_player("  Ines  Öllersen ", index=Decimal("18.4"))
    assert (added.name, added.index, added.unit) == ("Ines Öllersen", Decimal("18.4"), "yd")
    assert store.player("INES ÖLLERSEN") == store.player(" ines öllersen ") == added
    assert store.player("Ines") is None
    with pytest.raises(Conflict, match="there is a player"):
        store.add_player("ines öllersen")


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\x07b", "\ud800"])
def test_names_that_can_not_be_kept(store, name):
    with pytest.raises(StoreError, match="name"):
        store.add_player(name)
    assert store.players() == ()


def test_changes_to_a_player(store, ines, path):
    changed = store.change_player(ines.id, unit="m", hand="left", column="women", pace=20)
    assert (changed.unit, changed.hand, changed.column, changed.pace) == ("m", "left", "women", 20)
    assert store.change_player(ines.id, name="INES").name == "INES"
    store.add_player("Tobi")
    with pytest.raises(Conflict):
        store.change_player(ines.id, name="tobi")
    store.change_player(ines.id, hidden=True)
    assert [player.name for player in store.players()] == ["Tobi"]
    assert len(store.players(hidden=True)) == 2
    assert store.player("ines").hidden


@pytest.mark.parametrize(
    "fields",
    [
        {"unit": "ft"},
        {"hand": "both"},
        {"column": "pro"},
        {"index": Decimal("54.1")},
        {"index": Decimal("1.234")},
        {"pace": -1},
        {"hidden": None},
        {"shoe": 43},
    ],
)
def test_changes_that_are_refused(store, ines, fields):
    with pytest.raises(StoreError) as error:
        store.change_player(ines.id, **fields)
    assert "\n" not in str(error.value)
    assert store.player_of(ines.id) == ines
    with pytest.raises(StoreError, match="no player"):
        store.change_player("nobody", unit="m")


def test_the_index_is_a_row_a_day(store, ines, clock):
    for index in ("20", "18.4", "19.1"):
        store.change_player(ines.id, index=Decimal(index))
    assert store.player_of(ines.id).index == Decimal("19.1")
    assert store.change_player(ines.id, index=None).index is None
    with store.database.reading() as connection:
        rows = connection.exec_driver_sql("SELECT value FROM handicap ORDER BY number").fetchall()
    assert [value for (value,) in rows] == [2000, 1840, 1910, None]


def test_a_new_player_has_the_usual_clubs(store):
    yards, metres = store.add_player("Y"), store.add_player("M", unit="m")
    clubs = store.clubs(yards.id)
    assert [club.id for club in clubs] == list(CLUBS)
    assert clubs[0].usual_carry == 200
    driver = store.clubs(metres.id)[0]
    # 200 yd = 182.88 m (1 yd = 0.9144 m, NIST SP 811).
    assert (driver.usual_carry, driver.unit) == (183, "m")
    assert clubs[-1].usual_carry is None


def test_changes_to_clubs(store, ines):
    clubs = store.change_club(ines.id, "driver", label="Big one", usual_carry=Decimal("210.5"))
    assert (clubs[0].label, clubs[0].usual_carry) == ("Big one", Decimal("210.5"))
    store.change_player(ines.id, unit="m")
    assert store.clubs(ines.id)[0] == clubs[0], "a carry stays as it was typed"
    changed = store.change_club(ines.id, "driver", usual_carry=Decimal(190))[0]
    assert (changed.usual_carry, changed.unit) == (190, "m")
    assert store.change_club(ines.id, "driver", order=99, retired=True)[-1].retired
    added = store.add_club(ines.id, "chipper", "Chipper")
    assert {club.id for club in added} == {*CLUBS, "chipper"}
    with pytest.raises(Conflict):
        store.add_club(ines.id, "chipper", "Again")
    for wrong in ({"usual_carry": Decimal(0)}, {"usual_carry": Decimal("1.234")}, {"loft": 10}):
        with pytest.raises(StoreError):
            store.change_club(ines.id, "driver", **wrong)
    with pytest.raises(StoreError, match="no club"):
        store.change_club(ines.id, "niblick", label="x")


def test_a_session_is_its_events(store, ines, catalogue):
    session = store.add_session(ines.id, {"minutes": 30, "balls": 50})
    assert session.ended_at is None
    store.append_event(session.id, 1, "start", {"block": 0})
    with pytest.raises(PlayedElsewhere):
        store.append_event(session.id, 1, "pause", {})
    assert [open_.id for open_ in store.open_sessions(ines.id)] == [session.id]
    playing = store.begin(
        ines.id, catalogue.drill("hold-the-corridor"), session_id=session.id, block="2"
    )
    playing.append(entry("5", playing.run.game.ask))
    (run,) = store.history(session_id=session.id)
    assert (run.session_id, run.block, run.visit_id) == (session.id, "2", session.visit_id)
    store.append_event(session.id, 2, "end", {}, ends=True)
    kept = store.session(session.id)
    assert [(e.seq, e.kind, e.data) for e in kept.events] == [
        (1, "start", {"block": 0}),
        (2, "end", {}),
    ]
    assert kept.ended_at is not None
    assert store.open_sessions() == ()
    assert store.sessions(ines.id, 5) == (kept,)
    with pytest.raises(StoreError, match="no session"):
        store.append_event("x", 1, "start", {})


def test_stock_carries(store, ines):
    for carry in ("63", "64.5"):
        store.save_stock_carry(
            ines.id,
            "sand-wedge",
            "half",
            carry=Decimal(carry),
            low=Decimal("61.25"),
            high=Decimal(67),
            spread=Decimal("2.4"),
            unit="yd",
            data={"shots": ["64", "65"]},
        )
    (now,) = store.stock_carries(ines.id)
    assert (now.carry, now.low, now.data) == (
        Decimal("64.5"),
        Decimal("61.25"),
        {"shots": ["64", "65"]},
    )
    assert [stock.carry for stock in store.stock_carries(ines.id, every=True)] == [
        Decimal("64.5"),
        63,
    ]


def test_a_match_ties_runs_together(store, ines, catalogue):
    tobi, drill = store.add_player("Tobi"), catalogue.drill("hold-the-corridor")
    match = store.add_match(drill.id, [(tobi.id, {}), (ines.id, {"width": 28})], {"turns": "ball"})
    assert [(seat.player, seat.place) for seat in match.players] == [("Tobi", 1), ("Ines", 2)]
    playing = {p.id: store.begin(p.id, drill, match_id=match.id) for p in (tobi, ines)}
    ask = drill.game().ask
    for who, given_ in (
        (tobi, entry("5", ask)),
        (ines, entry("4", ask)),
        (tobi, entry("4", ask)),
        (tobi, Entry(Kind.UNDO)),
    ):
        playing[who.id].append(given_)
    store.give_up(playing[ines.id].id)
    orders = {
        who.id: [e.match_order for e in store.entries(playing[who.id].id)] for who in (tobi, ines)
    }
    assert orders == {tobi.id: [1, 3, 4], ines.id: [2, 5]}
    assert {run.player for run in store.history(match_id=match.id)} == {"Tobi", "Ines"}
    late = store.add_player("Late")
    changed = store.change_match_player(match.id, late.id, {"from": 3})
    assert changed.players[-1].place == 3
    assert store.open_matches() == (changed,)
    done = store.change_match(match.id, {"won": "Tobi"}, ends=True)
    assert (done.data, store.open_matches()) == ({"won": "Tobi"}, ())
    assert store.change_match(match.id, ends=False).ended_at is None
    # After trouble it is looked whether all of a change is there: here the end of it is not.
    store.once._unsure.add(match.id)
    last = store.change_match(match.id, done.data, ends=True, known=done.data)
    assert last.ended_at is not None
    assert len(store.matches(1)) == 1


@given(st.decimals(-(10**9), 10**9, places=2))
def test_hundredths_are_exact(value):
    assert exact(hundredths(value)) == value
    assert "E+" not in str(exact(hundredths(value)))


@given(st.datetimes(timezones=st.timezones()))
def test_moments_come_back(at):
    try:
        text, offset = stamp(at)
        back = moment(text, offset)
    except OverflowError:
        return
    # Across zones Python holds a time near a clock change equal to nothing.
    assert back.astimezone(UTC) == at.astimezone(UTC)
    assert len(text) == 26


@pytest.mark.parametrize("value", ["1.234", "NaN", "Infinity", "1E+30"])
def test_numbers_that_can_not_be_kept(value):
    with pytest.raises(ValueError, match="can't be kept"):
        hundredths(Decimal(value))
