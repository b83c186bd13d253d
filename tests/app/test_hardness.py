"""How hard each drill is for a player now, at home, and what its club does now."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from textual.pilot import Pilot

from drillrunner.app import hardness as h
from drillrunner.app import odds_worker
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.screens import home
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.loader import Catalogue
from drillrunner.odds import chance as chance_module
from drillrunner.odds.chance import Chance, score_distribution
from drillrunner.odds.desk import ask, bag_of
from drillrunner.odds.weigh import asks_of
from drillrunner.rules import Run
from drillrunner.rules.game import AnyGame
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown

pytestmark = pytest.mark.usefixtures("counted")

MakeApp = Callable[..., DrillrunnerApp]


async def weighed(pilot: Pilot[None], many: int | None = None) -> None:
    """Wait until every drill has its word, or so many have."""
    for _ in range(200):
        screen = pilot.app.screen
        assert isinstance(screen, home.HomeScreen)
        if len(screen._fresh) >= (many or len(screen.drillrunner.drills.catalogue.drills)):
            return
        await pilot.pause(0.1)
        await pilot.app.workers.wait_for_complete()
    raise AssertionError("not every drill was weighed")


def test_the_chance_is_that_of_the_next_run_from_its_start(
    ines: str, store: Store, catalogue: Catalogue
) -> None:
    drill = catalogue.drill("hold-the-corridor")
    player = store.player("Ines")
    assert player is not None
    found = h.hardness(store, player, drill, Decimal(3))
    game = drill.game()
    expected = ask(game, Run.begin(game), bag_of(store, player), Decimal(3))
    assert found is not None
    assert expected is not None
    assert found.own
    assert found.chance == pytest.approx(expected.chance, abs=1e-9)


def test_before_a_best_it_is_beside_what_half_of_others_reach(
    ines: str, store: Store, catalogue: Catalogue
) -> None:
    drill = catalogue.drill("miss-total-five")
    player = store.player("Ines")
    assert player is not None
    found = h.hardness(store, player, drill, None)
    assert found is not None
    assert not found.own
    game = drill.game()
    others = score_distribution(game, bag_of(None, None))
    better = sum(p for score, p in others.items() if score is not None and score < found.beat)
    assert better < 0.5 <= better + others[found.beat] + 1e-9
    assert "half of players with an index of 20 reach" in found.said


@pytest.mark.parametrize(
    ("chance", "own", "brief"),
    [
        (0.05, True, "hard 5 %"),
        (0.3, False, "fair 30 %"),
        (0.9, True, "easy 90 %"),
        (0.0, True, "perfect"),
    ],
)
def test_the_words(chance: float, own: bool, brief: str) -> None:
    found = h.Hardness(chance, Decimal(3), own, True, False)
    assert found.brief == brief
    assert found.said.startswith(found.word)
    assert h.Hardness(chance, Decimal(3), own, False, True).said.endswith("a guess so far")


async def test_home_fills_it_in_by_itself(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home, "CALM", 0.01)
    app = make_app()
    async with app.run_test(size=(160, 50)) as pilot:
        await ready(pilot)
        rows = app.screen.query_one(BlockList)
        places = enumerate(rows.options)
        rows.highlighted = next(at for at, row in places if row.id == "drill:hold-the-corridor")
        # The rest takes seconds; that all get theirs is held below, with a quicker walk.
        await weighed(pilot, 12)
        said = shown(app)
        assert sum(said.count(word) for word in ("easy ", "fair ", "hard ")) >= 8
        assert "to beat 3, your best" in said


async def test_only_drills_whose_facts_changed_are_weighed_anew(
    ines: str,
    store: Store,
    catalogue: Catalogue,
    make_app: MakeApp,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    walked: list[str] = []

    def walk(game: AnyGame, *_: object, **__: object) -> Chance:
        walked.append(asks_of(game)[0].club)
        return Chance(0.5, True, 1, 0.0)

    monkeypatch.setattr(chance_module, "chance", walk)
    # It walks for the drill under the cursor.
    monkeypatch.setattr(odds_worker, "offer", lambda *_: None)
    monkeypatch.setattr(home, "CALM", 0.01)
    app = make_app()
    app.in_sight = False
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.pause(0.1)
        await app.workers.wait_for_complete()
        assert isinstance(app.screen, home.HomeScreen)
        assert not app.screen._fresh, "nobody sees it"
        app.in_sight = True
        await weighed(pilot)
        assert len(walked) >= 20
        walked.clear()
        app.action_help()
        await ready(pilot)
        await pilot.press("slash")
        await ready(pilot)
        await weighed(pilot)
        assert walked == [], "nothing was played"
        played(store, ines, catalogue.drill("hold-the-narrow-corridor"), "5")
        app.action_help()
        await ready(pilot)
        await pilot.press("slash")
        await ready(pilot)
        await weighed(pilot)
        assert len(walked) >= 3
        assert set(walked) == {"driver"}


async def test_what_covers_it_has_the_machine_to_itself(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home, "CALM", 0.01)
    asked: list[object] = []
    monkeypatch.setattr(home, "hardness", lambda *of: asked.append(of))
    monkeypatch.setattr(odds_worker, "offer", lambda *of: asked.append(of))
    app = make_app(drill="hold-the-corridor", player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        below = app.screen_stack[0]
        assert isinstance(below, home.HomeScreen)
        assert not below.is_current
        await pilot.press("5")
        await pilot.pause(0.1)
        await app.workers.wait_for_complete()
        assert not asked
        app.action_command_palette()
        await pilot.pause()
        assert app.screen_stack[1].is_current
        assert not below.is_current


async def test_a_retired_club_stands_apart_and_the_stock_carry_is_said(
    ines: str, store: Store, make_app: MakeApp
) -> None:
    store.change_club(ines, "driver", retired=True)
    store.save_stock_carry(
        ines,
        "lob-wedge",
        "full",
        carry=Decimal(55),
        low=Decimal(53),
        high=Decimal(57),
        spread=Decimal(4),
        data={"kept": [True] * 6},
        unit="yd",
    )
    app = make_app()
    async with app.run_test(size=(160, 50)) as pilot:
        await ready(pilot)
        await pilot.press("end")
        await pilot.pause()
        said = shown(app)
        assert said.index("LOB WEDGE") < said.index("DRIVER · RETIRED")
        assert "yours goes 55" in said
        for _ in app.drills.catalogue.drills:
            if "your lob wedge goes 55, this asks 60" in shown(app):
                break
            await pilot.press("8")
            await pilot.pause()
        assert "your lob wedge goes 55, this asks 60" in shown(app)
