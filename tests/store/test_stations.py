"""The journal keeps of each ball the club, the swing and the aim that it was asked with."""

from __future__ import annotations

from decimal import Decimal

from drillrunner.catalogue.loader import Catalogue
from drillrunner.odds.desk import bag_of
from drillrunner.odds.weigh import asks_of
from drillrunner.rules.keypad import read
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

D = Decimal


def test_a_ladder_keeps_each_ball_with_its_rung(
    store: Store, ines: PlayerInfo, catalogue: Catalogue
) -> None:
    playing = store.begin(ines.id, catalogue.drill("ladder-of-wedges"))
    for text in ("41", "44", "50", "void", "52", "61", "70", "80"):
        playing.append(read(text, playing.run.ask))
    assert (playing.run.score, playing.run.ended) == (6, "all rungs climbed")
    shots = [entry for entry in store.entries(playing.id) if entry.shot is not None]
    assert [(s.club, s.swing, s.aim.carry) for s in shots if s.aim is not None] == [
        ("sand-wedge", "half", 40),
        ("sand-wedge", "half", 50),
        ("sand-wedge", "half", 50),
        ("sand-wedge", "half", 50),
        ("sand-wedge", "three-quarter", 60),
        ("gap-wedge", "three-quarter", 70),
        ("gap-wedge", "full", 80),
    ]
    again = store.resume(playing.id, catalogue.games)
    assert again.run.balls == playing.run.balls
    # Each pattern takes the balls of its own club and swing, within 15 % of its own number.
    bag = bag_of(store, ines)
    asks = asks_of(playing.run.game)
    assert [bag.picture(ask).depth.shots for ask in asks] == [1, 2, 1, 1, 1]


def test_a_corridor_that_narrows_keeps_each_width(
    store: Store, ines: PlayerInfo, catalogue: Catalogue
) -> None:
    playing = store.begin(ines.id, catalogue.drill("narrowing-fairway"))
    for text in ("5", "5", "4", "5"):
        playing.append(read(text, playing.run.ask))
    shots = [entry for entry in store.entries(playing.id) if entry.aim is not None]
    assert [entry.aim.width for entry in shots if entry.aim is not None] == [40, 38, 36, 36]
