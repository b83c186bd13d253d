"""What can be done in a session: by one key, from the menu, by mouse; cues, pace, gaps in time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from unittest.mock import Mock

import pytest
from textual.widgets._footer import FooterKey

from drillrunner.app import doors, match_start
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.cautions import CautionsScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.session_block import SessionScreen
from drillrunner.app.screens.session_summary import SummaryScreen
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.keysbar import KeysBar
from drillrunner.practice.matches.record import Setup
from drillrunner.practice.sessions.compose import COMPOSED
from drillrunner.practice.sessions.session import Limits
from drillrunner.store.errors import StoreError
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown, worked_out
from tests.app.session_world import SHORT, begun, desk, pass_time, press, settled
from tests.practice.worlds import Clock as Watch
from tests.practice.worlds import block, plan

Make = Callable[..., DrillrunnerApp]


def standing(app: DrillrunnerApp) -> list[str]:
    """How each block stands."""
    return [state.standing for state in desk(app).session.blocks]


async def test_time_up_is_a_cue_with_a_shape_and_the_block_goes_on(
    ines: str, make: Make, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, rung = make(), []
    monkeypatch.setattr(app, "bell", lambda: rung.append(1))
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await pass_time(pilot, watch, 115)
        assert "▲" not in shown(app)
        await pass_time(pilot, watch, 10)
        assert "▲ the block's time is up: 0 goes to the next block" in shown(app)
        assert "Warm-up +00:05" in shown(app)
        assert rung == []
        await press(pilot, "5")
        assert "balls 1 of 4" in shown(app)
        await press(pilot, "f12")
        assert "the bell rings" in shown(app)
        await press(pilot, "f8")
        assert "session 07:55 · Technique" in shown(app)
        await pass_time(pilot, watch, 130)
        assert rung == [1]
    again = make()
    assert again.bell_wanted


@pytest.mark.parametrize("size", [(40, 24), (80, 24)])
async def test_enter_passes_the_cautions_in_every_window(
    ines: str, make: Make, size: tuple[int, int]
) -> None:
    app = make()
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        app.open(doors.Cautions(SHORT, Limits(10, 20)))
        await settled(pilot)
        assert isinstance(app.screen, CautionsScreen)
        assert app.focused is None
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)


async def test_a_reason_that_came_true_is_said_anew(ines: str, make: Make) -> None:
    of = plan(
        replace(SHORT.blocks[2], why="never played yet"),
        block("free", 2, 5, title="Free", why="what is left over"),
    )
    app = make()
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(make, pilot, of)
        assert "1 of 2 · Corridor" in shown(app)
        assert "never played yet" in shown(app)
        await press(pilot, "enter", "5", "4", "4", "enter")
        await settled(pilot)
        assert "played in this session" in shown(app)
        assert "never played yet" not in shown(app)
        await press(pilot, "0")
        assert "what is left over" in shown(app)


@pytest.mark.usefixtures("counted")
async def test_a_reason_that_came_false_by_another_drill_is_said_anew(
    ines: str, make: Make
) -> None:
    """Of a plan that was put together: the driver is measured when its second block comes."""
    why = "no ball with the driver is measured lately"
    of = replace(
        plan(
            block("warm-up", 2, 4, title="Warm-up"),
            block("drill", 4, 10, title="Three", drill="three-drives-in-a-row", why=why),
        ),
        id=COMPOSED,
    )
    app = make()
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(make, pilot, of)
        await press(pilot, "enter", "0")
        await worked_out(pilot)
        assert "2 of 2 · Three" in shown(app)
        assert why not in shown(app)
        assert "driver: you miss left, 9 in 10 sure" in shown(app)


async def test_pause_goes_on_by_a_key_or_by_the_next_ball(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await pass_time(pilot, watch, 30)
        await press(pilot, "7")
        assert "‖ paused" in shown(app)
        await pass_time(pilot, watch, 300)
        assert "session 09:30" in shown(app)
        await press(pilot, "f5")
        await pass_time(pilot, watch, 10)
        assert "session 09:20" in shown(app)
        await press(pilot, "f5", "5")
        assert not desk(app).session.paused
        assert [pause.asked for pause in desk(app).session.pauses] == [True]


async def test_skip_bring_back_put_back_and_lengthen(ines: str, make: Make, watch: Watch) -> None:
    app = make()
    async with app.run_test(size=(100, 40)) as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "9")
        assert standing(app) == ["skipped", "now", "to come", "to come"]
        await press(pilot, "1")
        assert standing(app) == ["skipped", "to come", "now", "to come"]
        assert "then Technique" in shown(app)
        await press(pilot, "v")
        assert isinstance(app.screen, Choice)
        await press(pilot, "enter")
        assert "Warm-up comes next" in shown(app)
        assert desk(app).session.order[0] == 0
        await press(pilot, "plus")
        assert "02:00 and 5 balls more" in shown(app)
        assert "Corridor 06:00" in shown(app)


async def test_moving_on_says_what_was_shortened_and_dropped(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test(size=(100, 40)) as pilot:
        await begun(make, pilot, SHORT)
        await pass_time(pilot, watch, 420)
        await press(pilot, "0")
        said = shown(app)
        assert "◆ Technique dropped: no room is left" in said or "Free dropped" in said
        assert "shortened to" in said
        dropped = [s.block.title for s in desk(app).session.blocks if s.standing == "dropped"]
        dropped += [s.block.title for s in desk(app).session.forecast.dropped]
        assert dropped
        assert all(title in said for title in dropped)


@pytest.mark.parametrize("key", ["f9", "3"])
async def test_stop_ends_at_once_and_keeps_everything(
    ines: str, store: Store, make: Make, watch: Watch, key: str
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "5", "5", key)
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)
        assert "stopped" in shown(app)
        assert "2 of 24 balls" in shown(app)
    assert store.sessions(ines)[0].ended_at is not None
    assert store.open_sessions(ines) == ()


async def test_a_game_in_play_is_left_open_by_one_key(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "0", "0", "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.settings.lives == 2
        await press(pilot, "5", "4")
        await pass_time(pilot, watch, 300)
        assert "finish, or F8 leaves the game open" in shown(app)
        await press(pilot, "f8")
        assert isinstance(app.screen, SessionScreen)
        assert "4 of 4 · Free" in shown(app)
        assert desk(app).session.blocks[2].used == 2
    (run,) = store.open_runs(ines)
    assert (run.counted, run.block) == (2, "2")


async def test_over_the_sessions_time_the_same_key_leads_to_the_summary(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, plan(block("drill", 1, 5, drill="hold-the-corridor")))
        await press(pilot, "enter")
        await settled(pilot)
        await press(pilot, "5")
        await pass_time(pilot, watch, 90)
        said = shown(app)
        assert "the session's time is up: finish, or F8 leaves the game open" in said
        assert "gives more" not in said
        await press(pilot, "f8")
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)
        assert "left open" in shown(app)


async def test_balls_of_a_run_taken_up_count_from_where_it_was(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "0", "0", "enter")
        await settled(pilot)
        await press(pilot, "5", "5", "escape")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert "balls 2 of 10" in shown(app)
        await press(pilot, "5")
        await settled(pilot)
        assert isinstance(app.screen, Choice), "the open run is offered"
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        await press(pilot, "5")
        assert "block: balls 3 of 10 · bucket: 3 of 24" in shown(app)
        await press(pilot, "asterisk")
        assert "block: balls 2 of 10" in shown(app)


async def test_the_number_block_alone_and_the_mouse_alone_reach_it_all(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(make, pilot, SHORT)
        pad = app.screen.query_one("#keypad", Keypad)
        await pilot.click("#keypad", offset=pad.centre("5"))
        await pilot.click("#keypad", offset=pad.centre("enter"))
        await pilot.pause()
        assert "balls 2 of 4" in shown(app)
        await pilot.click("#keypad", offset=pad.centre("asterisk"))
        await pilot.pause()
        assert "balls 1 of 4" in shown(app)
        await pilot.click("#keypad", offset=pad.centre("0"))
        await pilot.pause()
        assert standing(app)[1] == "now"
        await pilot.click("SessionClock")
        await pilot.pause()
        said = shown(app)
        for act in ("Pause", "More time", "Put back", "Next block", "Skip", "Stop session", "Bell"):
            assert act in said
        await press(pilot, "slash", "0", "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        await press(pilot, "full_stop")
        assert isinstance(app.screen, Choice)
        names = [name for _, name, _ in app.screen.choices]
        at = names.index("Next block")
        await press(pilot, *["2"] * at, "enter")
        assert isinstance(app.screen, SessionScreen)
        assert standing(app) == ["done", "done", "done", "now"]


async def test_a_quiet_word_when_balls_come_faster_than_the_routine(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    for pace, spoken in ((None, True), (5, False), (0, False), (30, True)):
        store.change_player(ines, pace=pace)
        app = make()
        async with app.run_test() as pilot:
            await begun(make, pilot, plan(block("free", 5, 9, title="Free")))
            for _ in range(4):
                await pass_time(pilot, watch, 10)
                await press(pilot, "5")
            assert ("◆ 10 s a ball: take your time" in shown(app)) is spoken
            await press(pilot, "f9")
            await settled(pilot)


async def test_a_drill_played_from_home_counts_in_the_block_in_hand(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    free = plan(block("free", 5, 9, title="Free"))
    async with app.run_test() as pilot:
        await begun(make, pilot, free)
        await press(pilot, "slash")
        assert isinstance(app.screen, HomeScreen)
        assert "session 05:00 · Free" in shown(app)
        assert "▶ Test plan" in shown(app)
        app.runs.play(app.drills.catalogue.drill("hold-the-corridor"))
        await settled(pilot)
        await press(pilot, "5", "5", "4", "escape")
        await settled(pilot)
        assert desk(app).session.balls_used == 3
        assert desk(app).session.run is None
        app.sessions.go_on()
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert "balls 3 of 9" in shown(app)


async def test_a_match_takes_ones_own_balls_out_of_the_bucket(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    free = plan(block("free", 5, 9, title="Free"))
    async with app.run_test() as pilot:
        await begun(make, pilot, free)
        match_start.start(
            app, app.drills.catalogue.drill("hold-the-corridor"), Setup(("Ines", "Tobi"))
        )
        await settled(pilot)
        assert isinstance(app.screen, MatchPlayScreen)
        await press(pilot, "5", "4", "4")
        assert "2 of 9" in shown(app)
        assert desk(app).session.balls_used == 2
        await press(pilot, "asterisk")
        assert desk(app).session.balls_used == 1


async def test_the_end_on_another_screen_waits_to_be_seen(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, plan(block("free", 1, 9, title="Free")))
        await press(pilot, "f1")
        await pass_time(pilot, watch, 70)
        assert "ended" in shown(app)
        await press(pilot, "escape")
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)


async def test_played_elsewhere_is_said_and_nothing_is_lost(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "5")
        info = store.open_sessions(ines)[0]
        last = info.events[-1]
        store.append_event(info.id, last.seq + 1, "ball", {"spent": 1.0, "count": 1})
        await press(pilot, "5")
        await settled(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert "being played elsewhere" in shown(app)
        assert app.sessions.desk is None


async def test_a_store_that_fails_is_said_and_can_be_tried_again(
    ines: str, make: Make, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        assert app.records.store is not None
        with monkeypatch.context() as broken:
            full = Mock(side_effect=StoreError("the disk is full"))
            broken.setattr(app.records.store, "append_event", full)
            await press(pilot, "5")
            assert "the disk is full" in shown(app)
            assert desk(app).session.balls_used == 0
        await press(pilot, "enter")
        assert desk(app).session.balls_used == 1


async def test_a_session_left_open_is_offered_before_a_new_one(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
    app = make()
    async with app.run_test() as pilot:
        await ready(pilot)
        await press(pilot, "plus")
        assert isinstance(app.screen, Choice)
        await press(pilot, "2", "enter")
        await settled(pilot)
        assert store.open_sessions(ines) == ()
        assert app.sessions.desk is None


async def test_a_session_goes_on_as_whose_it_is_after_another_played_beside_it(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    tobi = store.add_player("Tobi")
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "0", "0", "slash")
        await settled(pilot)
        assert isinstance(app.screen, HomeScreen)
        app.people.now_plays(tobi)
        await ready(pilot)
        await press(pilot, "home", "enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert shown(app).split("\n")[0].endswith("Ines")
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.player.id == ines
        assert app.player is not None
        assert app.player.id == ines
        await press(pilot, "5")
        await settled(pilot)
        assert desk(app).session.balls_used == 1


async def test_the_clock_set_back_changes_nothing_and_the_computer_asleep_is_a_pause(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await pass_time(pilot, watch, 60)
        watch.at -= timedelta(hours=1)
        await pass_time(pilot, watch, 30)
        assert "session 08:30" in shown(app)
        assert desk(app).session.pauses == ()
        watch.run(1800)
        desk(app).tick()
        await pilot.pause()
        assert "session 08:30" in shown(app)
        assert "30 min away: counted as a pause" in shown(app)
        (pause,) = desk(app).session.pauses
        assert not pause.asked
        watch.run(86_400)
        desk(app).tick()
        await pilot.pause()
        assert "24 h away: counted as a pause" in shown(app)


async def test_killed_in_a_game_it_goes_on_where_it_was(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "5", "0", "0", "enter")
        await settled(pilot)
        await pass_time(pilot, watch, 40)
        await press(pilot, "5", "5")
        before = desk(app).session
        assert before.in_play
    assert store.open_sessions(ines)[0].events[-1].kind != "run-ended"
    watch.wall(3600)
    watch.steady = 7.0
    app = make()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert "▶ Test plan" in shown(app)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert "held 2" in shown(app)
        session = desk(app).session
        assert (session.balls_used, session.current, session.in_play) == (3, 2, True)
        assert before.spent - session.spent <= 5
        assert session.pauses[-1].seconds == pytest.approx(3600, abs=6)
        assert "60 min away: counted as a pause" in shown(app)
        await press(pilot, "4", "4")
        await settled(pilot)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert "balls 4 of 10" in shown(app)


async def test_the_keys_at_the_foot_are_those_of_now(ines: str, make: Make) -> None:
    """They are drawn anew only when something of them may be another one."""
    app = make()

    def foot_is_of_now() -> bool:
        bar = app.screen.query_one(KeysBar)
        return bar._drawn == bar._to_draw()

    async with app.run_test(size=(80, 24)) as pilot:
        await begun(make, pilot, SHORT, balls=5)
        seen = set()
        moves = ("55*7595555*010", ["enter"], "544", ["enter"], "05*3")
        for key in [key for keys in moves for key in keys]:
            await press(pilot, "asterisk" if key == "*" else key)
            await settled(pilot)
            assert foot_is_of_now(), key
            seen.add(tuple(key.description for key in app.screen.query(FooterKey)))
        assert len(seen) > 3


async def test_the_clock_of_a_screen_that_is_come_back_to_is_of_now(
    ines: str, make: Make, watch: Watch
) -> None:
    """Under another screen it is not painted with each ball."""
    app = make()
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(make, pilot, SHORT)
        await press(pilot, "slash")
        assert isinstance(app.screen, HomeScreen)
        assert "bucket: 0 of 24" in shown(app)
        desk(app).open()
        await settled(pilot)
        await press(pilot, "5", "5", "slash")
        await settled(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert "bucket: 2 of 24" in shown(app)
