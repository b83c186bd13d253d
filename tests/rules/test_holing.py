"""Strokes to hole out and lengths left: keypad, outcomes, units, what holds."""

from decimal import Decimal as D

import pytest

from drillrunner.catalogue.drill import build
from drillrunner.catalogue.loader import bundled, load
from drillrunner.rules.keypad import expects, press, read
from drillrunner.rules.outcome import Asks
from drillrunner.rules.run import Refused
from drillrunner.rules.shot import Aim, NearLie, Shot
from drillrunner.rules.station import Ask, Station
from drillrunner.rules.units import Unit, feet


def ask(asks: Asks, lie: NearLie = "green", unit: Unit = "yd") -> Ask:
    return Ask(asks, Aim(length=D(10), lie=lie), D(1), unit)


def test_strokes_are_one_key_with_and_without_numlock() -> None:
    assert press("", "3", "3", ask("strokes")).submit == "3"
    assert press("", "end", None, ask("strokes")).submit == "1"
    assert read("2", ask("strokes")).shot == Shot(strokes=2)
    assert read("2", ask("strokes", "sand")).shot == Shot(strokes=2)


@pytest.mark.parametrize("text", ["0", "10", "+3", "2.5", "lost", "in"])
def test_what_is_no_number_of_strokes_is_refused_in_a_line(text: str) -> None:
    with pytest.raises(Refused, match="1 to 9"):
        read(text, ask("strokes"))


def test_a_length_left_is_a_number_in_feet_or_metres() -> None:
    assert read("4", ask("leave")).shot == Shot(leave=D(4), leave_grid=D(1))
    assert read("0", ask("leave")).shot == Shot(leave=D(0), leave_grid=D(1))
    assert read("1,5", ask("leave", unit="m")).shot == Shot(leave=D("1.5"), leave_grid=D("0.1"))
    assert "feet left" in expects(ask("leave"))
    assert "metres left" in expects(ask("leave", unit="m"))
    assert press("", "minus", "-", ask("leave")).typed == ""
    for text in ("-4", "100", "lost"):
        with pytest.raises(Refused, match="expected"):
            read(text, ask("leave"))


def test_the_answers_are_all_that_can_be_typed() -> None:
    assert [o.shot.strokes for o in ask("strokes").outcomes()] == [*range(1, 10)]
    lefts = [o.shot.leave for o in ask("leave").outcomes()]
    assert (lefts[0], lefts[1], lefts[-1]) == (0, 1, 99)


def test_shots_in_words() -> None:
    assert Shot(strokes=1).words() == "1 stroke"
    assert Shot(strokes=3).words() == "3 strokes"
    assert Shot(leave=D(4)).words() == "4 ft left"
    assert Shot(leave=D(1)).words("m") == "1 m left"
    assert Shot(leave=D(0)).words() == "holed"


def test_a_ball_to_the_hole_holds_within_so_many_strokes() -> None:
    aim = Aim(length=D(4), lie="green")
    assert aim.holds(Shot(strokes=1))
    assert not aim.holds(Shot(strokes=2))
    assert aim.holds(Shot(strokes=2), within=2)


def test_a_station_without_length_or_lie_says_what_it_lacks() -> None:
    assert [name for name, _ in Station(Aim(), "strokes").faults()] == ["aim.length", "aim.lie"]
    chip = Station(Aim(length=D(10), lie="sand"), "leave")
    assert [name for name, _ in chip.faults()] == ["aim.lie"]
    assert not list(Station(Aim(length=D(10), lie="sand"), "strokes").faults())


def test_putts_are_in_feet_or_metres_and_chips_in_yards_or_metres() -> None:
    """1 yd = 0.9144 m (international yard, 1959): 10 ft is 3.048 m, 10 yd 9.144 m."""
    assert feet(D(3), "yd") == 9
    assert round(feet(D("3.048"), "m"), 9) == 10
    game = load([bundled("games")]).games["lives"]
    document = {
        "id": "holing",
        "title": "Holing",
        "game": "lives",
        "club": "putter",
        "asks": "strokes",
        "dial": {"field": "aim.length", "from": 4, "to": 28, "step": 3},
    }
    putt = build(
        document | {"aim": {"length": 10, "lie": "green"}}, lambda _: (game.cls, ""), None, ""
    )
    chip = build(
        document | {"aim": {"length": 10, "lie": "sand"}}, lambda _: (game.cls, ""), None, ""
    )
    assert putt.in_unit("m").aim == Aim(length=D(3), lie="green")
    assert chip.in_unit("m").aim == Aim(length=D(9), lie="sand")
    assert putt.in_unit("m").in_unit("yd").aim.length == 10
    assert putt.where == chip.where == "green"
