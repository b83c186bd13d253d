"""Played in Chromium by taps alone, on a phone's screen held either way.

One visit for each way of holding it, since a page is dear to open: every test begins at home, and
ends there.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator

import pytest
import pytest_asyncio

from tests.serve.browser import CHROMIUM
from tests.serve.finger import Finger, World, picture

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium"),
    pytest.mark.asyncio(loop_scope="module"),
]
IN, LEFT = r"left\W+5? ?(in)\W+6? ?right", r"(left)\W+5? ?in\W+6? ?right"
"""The row of keys that says left, in, right."""
HOME = r"Drills\b"


@pytest_asyncio.fixture(
    scope="module",
    loop_scope="module",
    params=[(390, 844), (844, 390)],
    ids=["upright", "across"],
)
async def finger(world: World, request: pytest.FixtureRequest) -> AsyncIterator[Finger]:
    async with world.phone(request.param) as visit:
        yield visit


async def test_a_session_with_its_acts_by_taps(finger: Finger) -> None:
    plan = "Half an hour, one bucket"
    # What is put together is turned to fit as soon as the odds are known.
    await finger.tap_until("(Session)", "as it fits")
    await finger.find(plan, "(An hour)")
    await finger.tap_until(f"({plan})", "Start the clock")
    await picture(finger.page, f"cautions-{finger.page.size[0]}")
    await finger.tap_until("(Start the clock)", "1 of 4")
    keys = finger.keys()
    await finger.tap_until("(pause)", r"go on\b", r"(go on)\b", r"7? *pause\b")
    assert keys == finger.keys()
    await finger.tap_until(r"\b(ball)\b", r"1/50|bucket: 1 of 50")
    await finger.tap_until("(undo)", r" 0/50|bucket: 0 of 50")
    await finger.tap_until("(skip)", "2 of 4", "(later)", "3 of 4")
    await picture(finger.page, f"session-{finger.page.size[0]}")
    assert keys == finger.keys()
    await finger.tap_until("(begin)", "Esc Leave", "Esc (Leave)", "3 of 4")
    await finger.tap_until("(stop)", "What the session came to", "(Done)", HOME)


async def test_a_whole_drill_by_taps(world: World, finger: Finger) -> None:
    shots, before = world.shots, world.shots()
    page = finger.page
    await picture(page, f"home-{page.size[0]}")
    await finger.tap("(Hold the corridor)")
    await finger.until("in or out")
    keys = [n for n, line in enumerate(finger.screen()) if re.search(IN, line)]
    for ball in range(1, 4):
        await finger.tap(IN)
        await finger.until(f"held {ball}")
        # No key has moved under the finger.
        assert keys == [n for n, line in enumerate(finger.screen()) if re.search(IN, line)]
    await picture(page, f"play-{page.size[0]}")
    for left in (2, 1):
        await finger.tap(LEFT)
        await finger.until(f"lives left {left}")
    # Two taps 80 ms apart, let go between them: two balls.
    assert shots() == before + 5
    await finger.tap(IN, 0.02)
    await asyncio.sleep(0.06)
    await finger.tap(IN, 0.02)
    await finger.until("held 5")
    assert shots() == before + 7
    await finger.tap(LEFT)
    await finger.until(r"(?s)\A(?!.*in or out)(?=.*\b5\b)")
    await picture(page, f"result-{page.size[0]}")
    assert shots() == before + 8
    await finger.tap_until("Esc (Leave)", HOME)


async def test_a_match_by_taps(world: World, finger: Finger) -> None:
    shots, before = world.shots, world.shots()
    page = finger.page
    await finger.tap_until("(Hold the corridor)", "in or out", "Esc (Leave)", HOME)
    await finger.tap_until("(Match)", "somebody new", "(somebody new)", "Who plays too")
    await page.write("#words", f"Bo {page.size[0]}")
    await page.tap("#field button")
    # The next question moves to where the page's field leaves room for it.
    await page.until("document.querySelector('#what').textContent.startsWith('As 18.4')")
    await finger.until("index and card")
    await page.tap("#field button")
    await page.until("document.querySelector('#field').hidden")
    # The row that starts it may have been pushed out of a low list; the key is always there.
    await finger.until(r"\b2 play")
    await finger.tap_until("5 (Start)", "Ann.* to play")
    keys = finger.keys()
    await finger.tap_until(IN, "Bo.* to play", LEFT, "Ann.* to play", LEFT, "Bo.* to play")
    assert keys == finger.keys()
    await picture(page, f"match-{page.size[0]}")
    for turn in ("Ann.*", "Bo.*", "Ann.*"):
        await finger.tap_until(LEFT, f"{turn} to play")
    await finger.tap(LEFT)
    await finger.until(r"(?s)\A(?!.*in or out).*Ann")
    await picture(page, f"match-result-{page.size[0]}")
    assert shots() == before + 7
    await finger.tap_until("Esc (Leave)", "WHO PLAYS", "/ (Back)", HOME)


async def test_a_round_typed_in_by_taps(finger: Finger) -> None:
    await finger.tap_until("(Menu)", "How hard")
    await finger.find(r"Rounds\b", "(Pattern)")
    await finger.tap_until(r"(Rounds)\b", "New round", "(New round)", "Begin")
    await finger.tap_until("(How much)", "putts", "(How much)", "score only")
    await finger.tap_until("(Holes)", "the first nine", "(Begin)", r"hole 1\b")
    keys = finger.keys()
    for hole in range(1, 9):
        if hole % 2:
            await finger.tap_until(r"\b(5)\b", "5▏")
        await finger.tap_until("(Enter)", rf"hole {hole + 1} ")
        assert keys == finger.keys()
    await picture(finger.page, f"round-{finger.page.size[0]}")
    await finger.tap("(Enter)")
    await finger.until(r"(?s)\A(?!.*hole 9 ).*\b9 holes|differential")
    await picture(finger.page, f"card-{finger.page.size[0]}")
    await finger.tap_until("/ (Back)", "New round", "/ (Back)", HOME)
