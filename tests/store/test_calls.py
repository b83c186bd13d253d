"""A call is part of its shot: in the journal, in every file, and a pattern of its own."""

from __future__ import annotations

from decimal import Decimal

from drillrunner.catalogue.loader import Catalogue
from drillrunner.odds.desk import bag_of
from drillrunner.rules.keypad import read
from drillrunner.store import shot_list
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

D = Decimal


def test_calls_are_kept_exported_and_read_again(
    store: Store, ines: PlayerInfo, catalogue: Catalogue
) -> None:
    playing = store.begin(ines.id, catalogue.drill("call-the-number"))
    for text in ("64:61", "60:58.5", "void", "59:66"):
        playing.append(read(text, playing.run.ask))
    assert store.resume(playing.id, catalogue.games).run.balls == playing.run.balls
    assert playing.run.score == 10
    (first, second, third) = list(shot_list.rows(store))
    columns = list(shot_list.COLUMNS)
    assert [row[columns.index("call")] for row in (first, second, third)] == ["64", "60", "59"]
    assert [row[columns.index("carry")] for row in (first, second, third)] == ["61", "58.5", "66"]
    assert [row[columns.index("void")] for row in (first, second, third)] == ["0", "1", "0"]


def test_how_a_player_calls_is_a_pattern_of_its_own(
    store: Store, ines: PlayerInfo, catalogue: Catalogue
) -> None:
    aimed = store.begin(ines.id, catalogue.drill("call-the-number"))
    for text in ("70:60", "69:59", "71:62"):
        aimed.append(read(text, aimed.run.ask))
    free = store.begin(ines.id, catalogue.drill("call-the-wedges"))
    for text in ("70:61", "90:91"):
        free.append(read(text, free.run.ask))
    bag = bag_of(store, ines)
    # The calls of the sand wedge, from both drills; the one of the gap wedge is its own.
    assert bag.picture(aimed.run.game.ask).depth.shots == 4
    assert bag.picture(aimed.run.game.ask).depth.bias.median < -5
    assert bag.picture(free.run.game.asked_at(free.run.game.stations[1])).depth.shots == 1
    # Of the depth about 60 only those tell that were aimed at it.
    carried = catalogue.drill("on-the-number").with_set(
        ["aim.carry=60", "club=sand-wedge", "swing=full"]
    )
    depth = bag.picture(carried.game().ask).depth
    assert depth.shots == 3
    assert abs(depth.bias.median) < 3
