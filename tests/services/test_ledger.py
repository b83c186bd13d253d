"""A session in a real database: played, killed, gone on with, and looked back on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.catalogue.plans import Plan
from drillrunner.practice.sessions.plan import drill_of, limits_for
from drillrunner.practice.sessions.session import Limits, fold
from drillrunner.rules.keypad import read
from drillrunner.services.ledger import Ledger, events_of, look_back
from drillrunner.store import outings
from drillrunner.store.errors import DiskTrouble, PlayedElsewhere
from drillrunner.store.journal import Playing
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.cli.run import Run
from tests.practice.worlds import Clock, block, plan
from tests.store.world import opened

PLAN = plan(
    block("warm-up", 4, 6, title="Warm-up"),
    block("find", 6, 6, title="Find", club="sand-wedge", swing="half"),
    block("drill", 8, 18, title="Corridor", drill="hold-the-corridor", set=("lives=2",)),
    block("free", 2, 5, title="Free"),
)


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


def type_in(ledger: Ledger, playing: Playing, clock: Clock, *typed: str) -> None:
    for text in typed:
        clock.run(20)
        playing.append(read(text, playing.drill.game().ask))
        ledger.entered(playing)


def play(ledger: Ledger, clock: Clock, catalogue: Catalogue) -> Playing:
    """Warm-up, six carries with one thinned, and a corridor game of five balls."""
    for _ in range(3):
        clock.run(20)
        ledger.ball()
    ledger.done()
    for typed in ("70", "72", "71", "50", "71", "73"):
        clock.run(20)
        ledger.carry(typed)
    ledger.reveal()
    ledger.done()
    session = ledger.session
    assert session.now is not None
    drill = drill_of(session.now.block, catalogue, "yd", {})
    playing = ledger.begin(drill)
    type_in(ledger, playing, clock, "5", "4", "5", "5", "6")
    return playing


def test_a_session_from_start_to_summary(
    store: Store,
    ines: PlayerInfo,
    clock: Clock,
    catalogue: Catalogue,
    capsys: pytest.CaptureFixture[str],
) -> None:
    ledger = Ledger.start(store, ines, PLAN, Limits(20, 50), clock)
    playing = play(ledger, clock, catalogue)
    assert playing.run.finished
    ledger.leave_run()
    ledger.done()
    assert ledger.session.balls_used == 3 + 6 + 5
    ledger.stop()

    stored = store.run(playing.id)
    assert stored is not None
    assert (stored.session_id, stored.block) == (ledger.id, "2")
    (kept,) = store.stock_carries(ines.id)
    assert (kept.club, kept.swing, kept.carry) == ("sand-wedge", "half", 71)
    assert kept.data["kept"] == [True, True, True, False, True, True]

    info = store.session(ledger.id)
    assert info.ended_at is not None
    summary = look_back(store, info)
    assert (summary.balls, summary.ended) == (14, "stopped")
    assert summary.minutes == pytest.approx(14 * 20 / 60)
    assert sum(b.minutes for b in summary.blocks) == pytest.approx(summary.minutes)
    assert sum(b.balls for b in summary.blocks) == summary.balls
    assert [b.standing for b in summary.blocks] == ["done", "done", "done", "begun"]
    assert summary.pace == pytest.approx(20)
    (run,) = summary.blocks[2].played
    assert run.said == "Hold the corridor: 3, out of lives: your first score"
    assert [change.shots for change in summary.changes] == [5]
    assert summary.next_time[0].startswith("play Hold the corridor again")

    command = Run(capsys)
    said = command("session --show last --json")
    assert (said.code, said.err) == (0, "")
    shown = said.json
    assert list(shown) == ["session", "started", "ended_at", "minutes", "balls", "blocks"]
    assert list(shown["blocks"][0]) == [
        "kind",
        "title",
        "planned_minutes",
        "minutes",
        "planned_balls",
        "balls",
        "runs",
    ]
    assert shown["blocks"][2]["runs"] == [playing.id]
    assert shown["ended_at"].endswith("+00:00")
    said = command("session --show", ledger.id)
    assert said.code == 0
    for line in ("14 of 50", "left out: 50", "20 seconds a ball", "next time", "first score"):
        assert line in said.out


def test_killed_in_a_game_it_goes_on_with_bucket_and_game(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    ledger = Ledger.start(store, ines, PLAN, Limits(20, 50), clock)
    ledger.skip()
    ledger.skip()
    session = ledger.session
    assert session.now is not None
    playing = ledger.begin(drill_of(session.now.block, catalogue, "yd", {}))
    type_in(ledger, playing, clock, "5", "4", "/")
    clock.wall(3600)
    clock.steady = 0.0

    (info,) = store.open_sessions(ines.id)
    again = Ledger.taken_up(store, info, clock)
    assert again.session.in_play
    assert again.session.balls_used == 2
    assert again.session.current == 2
    assert [round(p.seconds, -2) for p in again.session.pauses] == [3600]
    resumed = store.resume(playing.id, catalogue.games)
    type_in(again, resumed, clock, "5", "4", "6")
    assert again.session.balls_used == 5
    again.tick()
    with pytest.raises(PlayedElsewhere):
        ledger.pause()


def test_killed_after_the_last_ball_of_a_game_it_is_not_in_play_any_more(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    ledger = Ledger.start(store, ines, PLAN, Limits(20, 50), clock)
    play(ledger, clock, catalogue)
    again = Ledger.taken_up(store, store.session(ledger.id), clock)
    assert again.session.run is None
    assert again.session.balls_used == 14


def test_what_an_older_version_left_revealed_and_not_saved_is_saved(
    store: Store, ines: PlayerInfo, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = Ledger.start(store, ines, PLAN, Limits(20, 50), clock)
    ledger.done()
    for typed in ("70", "72", "71", "70", "71"):
        ledger.carry(typed)
    with monkeypatch.context() as older:
        older.setattr(Ledger, "_found_by", lambda *_: None)
        ledger.reveal()
    assert store.stock_carries(ines.id) == ()
    for _ in range(2):
        Ledger.taken_up(store, store.session(ledger.id), clock)
        assert len(store.stock_carries(ines.id, every=True)) == 1


def test_a_reveal_and_what_it_found_are_on_disk_together_or_not_at_all(
    store: Store, ines: PlayerInfo, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = Ledger.start(store, ines, PLAN, Limits(20, 35), clock)
    ledger.done()
    for carry in ("70", "72", "71", "69", "71"):
        clock.run(20)
        ledger.carry(carry)
    before = ledger.session
    with monkeypatch.context() as broken:
        full = DiskTrouble("full")

        def no_room(*_: object, **__: object) -> None:
            raise full

        broken.setattr(outings, "_keep_carry", no_room)
        with pytest.raises(DiskTrouble):
            ledger.reveal()
    assert ledger.session.blocks == before.blocks
    assert [e.kind for e in store.session(ledger.id).events].count("reveal") == 0
    ledger.reveal()
    assert [e.kind for e in store.session(ledger.id).events].count("reveal") == 1
    (kept,) = store.stock_carries(ines.id, every=True)
    assert (kept.club, kept.session_id, kept.data["block"]) == ("sand-wedge", ledger.id, 1)


def test_a_run_that_was_open_before_counts_only_its_new_balls(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    drill = drill_of(PLAN.blocks[2], catalogue, "yd", {})
    old = store.begin(ines.id, drill)
    for text in ("5", "5", "5"):
        old.append(read(text, drill.game().ask))
    ledger = Ledger.start(store, ines, plan(PLAN.blocks[2]), Limits(10, 20), clock)
    playing = ledger.take_up(store.resume(old.id, catalogue.games))
    type_in(ledger, playing, clock, "5", "*", "5")
    assert ledger.session.balls_used == 1
    ledger.stop()
    assert look_back(store, store.session(ledger.id)).next_time[0] == (
        "go on with Hold the corridor: it was left open"
    )


def test_a_game_opened_and_left_without_a_ball_leaves_no_trace(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    ledger = Ledger.start(store, ines, plan(PLAN.blocks[2]), Limits(10, 20), clock)
    ledger.begin(drill_of(PLAN.blocks[2], catalogue, "yd", {}))
    again = Ledger.taken_up(store, store.session(ledger.id), clock)
    assert again.session.run is None
    again.stop()
    summary = look_back(store, store.session(ledger.id))
    assert [(b.runs, b.balls) for b in summary.blocks] == [((), 0)]


def test_what_is_stored_folds_to_what_was_shown(
    store: Store, ines: PlayerInfo, clock: Clock, catalogue: Catalogue
) -> None:
    ledger = Ledger.start(store, ines, PLAN, Limits(20, 50), clock)
    play(ledger, clock, catalogue)
    ledger.stop()
    folded = fold(events_of(store.session(ledger.id)))
    assert folded == ledger.session
    assert store.open_sessions() == ()
    assert Plan.from_data(dict(store.session(ledger.id).plan["plan"])) == PLAN


def test_limits_come_from_what_is_said_then_the_plan_then_half_an_hour() -> None:
    assert limits_for(None, None, None) == Limits(30, 50)
    assert limits_for(PLAN, None, None) == Limits(20, 35)
    assert limits_for(PLAN, 25, None) == Limits(25, 35)
    assert limits_for(None, None, 20) == Limits(30, 20)
