"""Plans from stored histories: playable, the same each time, and quick."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.catalogue.plans import Block
from drillrunner.practice.sessions.compose import FINISHING, NONE_FITS, TURNED, compose
from drillrunner.practice.sessions.fitting import EVEN, HOPELESS
from drillrunner.practice.sessions.pack import Offered, _Search
from drillrunner.practice.sessions.plan import as_played, drill_of
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.keypad import read
from drillrunner.services.planning import (
    Weighed,
    known,
    newcomer,
    planned,
    reason_now,
    with_sides,
)
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.practice.worlds import Clock
from tests.practice.worlds import block as plan_block
from tests.store.world import opened


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load([bundled("games")])


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def store(home: Path, clock: Clock) -> Iterator[Store]:
    with opened(home / "data" / "drillrunner.db", lambda: clock.at) as one:
        yield one


@pytest.fixture
def ines(store: Store) -> PlayerInfo:
    return store.add_player("Ines")


def play(store: Store, who: PlayerInfo, catalogue: Catalogue, id: str, *typed: str) -> None:
    drill = as_played(catalogue.drill(id), "yd", {})
    playing = store.begin(who.id, drill)
    for text in typed:
        if not playing.run.over:
            playing.append(read(text, playing.run.ask))
    if not playing.run.over:
        store.give_up(playing.id)


def test_a_newcomer_measures_each_part_of_the_bag(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    plan = planned(store, ines, catalogue, Limits(30, 50), clock.at)
    assert len({block.club for block in plan.blocks if block.drill}) == 3
    unknown = planned(None, None, catalogue, Limits(30, 50), clock.at)
    assert unknown == plan
    for block in plan.blocks:
        if block.drill:
            drill_of(block, catalogue, "yd", {}).game()
            assert block.chance is not None
            assert block.chance >= HOPELESS
    quick = compose(newcomer(catalogue, clock.at), Limits(10, 30))
    assert quick.balls >= 20
    assert len({block.club for block in quick.blocks if block.drill}) >= 2


def test_what_was_played_shows_in_the_facts(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    play(store, ines, catalogue, "miss-total-five", "+5", "-10", "0", "5", "-5")
    for _ in range(2):
        clock.wall(86400 * 3)
        play(store, ines, catalogue, "miss-total", *["+20", "+10", "+15", "+5", "+25"] * 2)
    facts = known(store, ines, catalogue, clock.at)
    (fact,) = [f for f in facts.drills if f.id == "miss-total-five"]
    assert (fact.best, fact.last, fact.swings) == (Decimal(25), Decimal(25), (("7-iron", "full"),))
    assert facts.visits == 3
    assert facts.balls["driver", "full"] == 20
    assert with_sides(facts, store, ines).sides == {
        ("driver", "full"): "you miss right, 99 in 100 sure"
    }


def test_a_reason_is_as_true_as_what_was_typed_since(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    """What a block was for may come true, or false, by other drills of the same session."""
    why = "no ball with the driver is measured lately"
    planned_for = replace(
        plan_block("drill", 5, 10, drill="three-drives-in-a-row"), why=f"{why}{TURNED}"
    )

    def now(block: Block) -> str:
        return reason_now(store, ines, catalogue, block, clock.at)

    assert now(planned_for) == planned_for.why
    play(store, ines, catalogue, "miss-total", *["+20", "+10", "+15", "+5", "+25"] * 2)
    assert now(planned_for) == "never played yet"
    play(store, ines, catalogue, "miss-total", *["+20", "+10", "+15", "+5", "+25"] * 2)
    turned = replace(planned_for, set=("length=2",))
    assert now(turned) == f"driver: you miss right, 99 in 100 sure{TURNED}"
    for fixed in (f"{FINISHING}: your best is 3", f"{NONE_FITS}; {why}"):
        assert now(replace(planned_for, why=fixed)) == fixed
    assert now(replace(planned_for, drill="gone")) == planned_for.why


def test_a_retired_club_is_not_planned(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    store.change_club(ines.id, "driver", retired=True)
    plan = planned(store, ines, catalogue, Limits(60, 100), clock.at)
    assert all(block.club != "driver" for block in plan.blocks)


def test_every_block_of_every_plan_can_be_played_and_comes_again(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    rng = random.Random(3)
    for _ in range(3):
        for id in ("hold-the-corridor", "three-drives-in-a-row"):
            play(store, ines, catalogue, id, *rng.choices("5546", k=40))
        clock.wall(86400 * 2)
    facts = known(store, ines, catalogue, clock.at)
    weighed = Weighed(catalogue, store, ines)
    for _ in range(2):
        limits = Limits(rng.randint(5, 60), rng.randint(10, 90))
        plan = compose(facts, limits, weighed)
        assert plan == compose(facts, limits, weighed)
        assert plan.minutes <= limits.minutes
        assert plan.balls <= limits.balls
        for block in plan.blocks:
            if block.drill:
                drill_of(block, catalogue, "yd", {}).game()


def test_many_drills_long_known_need_few_choices(
    clock: Clock, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However long the history, the search is over what a drill is worth, and soon through."""
    told = newcomer(catalogue, clock.at)
    old = replace(
        told,
        visits=1000,
        drills=tuple(
            replace(drill, id=f"{drill.id}-{at}", last_played=clock.at - timedelta(days=at))
            for drill in told.drills
            for at in range(4)
        ),
    )
    calls = []
    keep = _Search._keep

    def counted(self: _Search, worth: float, taken: tuple[Offered, ...]) -> None:
        calls.append(1)
        keep(self, worth, taken)

    monkeypatch.setattr(_Search, "_keep", counted)
    plan = compose(old, Limits(120, 250))
    assert len(plan.blocks) > 5
    assert len(calls) < 10_000, "a choice takes some ten millionths of a second"


def test_the_wanted_chance_moves_the_dial(clock: Clock, catalogue: Catalogue) -> None:
    facts = newcomer(catalogue, clock.at)
    hard = [drill for drill in facts.drills if drill.id == "four-wedges-in-a-row"]
    one = replace(facts, drills=tuple(hard))
    found = [
        next(b for b in compose(one, Limits(30, 50), Weighed(catalogue), wanted).blocks if b.drill)
        for wanted in (EVEN, 0.2)
    ]
    assert all(block.set for block in found)
    assert found[0].chance is not None
    assert found[1].chance is not None
    assert found[0].chance >= found[1].chance
