"""Two phones of a private server in one match: the whole program, from the links to the boards.

Where there is openssl to make a certificate, all of it is encrypted.
"""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Callable
from itertools import chain

import aiohttp
import pytest

from drillrunner.store.store import Store
from tests.serve.world import PATIENCE, Phone, served


async def comes(phone: Phone, so: Callable[[], bool]) -> None:
    """Take in what comes until something is so."""
    until = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < until, phone.text()
        await phone.step(1)


async def test_two_phones_play_a_match_and_one_goes_and_comes_back(home, request) -> None:
    files = request.getfixturevalue("pair") if shutil.which("openssl") else ()
    options = zip(("--certificate", "--key"), map(str, files), strict=False)
    with served("--private", "--most", "2", *chain(*options)) as server:
        trusts = str(files[0]) if files else None
        one, two = (Phone(server.base, trusts=trusts) for _ in range(2))
        try:
            for phone, name, bay in ((one, "Ines", "7"), (two, "Tobi", "8")):
                await phone.get(f"?bay={bay}")
                assert (await phone.post("who", do="new", name=name, pin="271828"))[0] == 200
                if files:
                    assert server.base.startswith("https://")
                    assert {cookie["secure"] for cookie in phone.http.cookie_jar} == {True}
                await phone.connect()
                await phone.until("Hold the corridor")
            await one.type("-")
            await one.until("Match · Hold the corridor", "between bays")
            await one.type("5")
            await one.until("is the number to join")
            code = re.search(r"(\d \d \d \d) is the number", one.text())[1].replace(" ", "")
            await two.type("#")
            await two.until("Join a match")
            await two.type(f"{code}\r")
            await two.until("Ines starts it")
            await one.until("2 of us: 5 starts it")
            await one.type("5")
            await one.until("Ines to play")
            await two.until("Ines to play")
            await one.type("5")
            await two.until("Tobi to play")
            await two.drop()
            await comes(one, lambda: "away" in one.text())
            await two.connect()
            await two.until("Tobi to play")
            await comes(one, lambda: "away" not in one.text())
            await two.type("4")
            await one.until("Ines to play")
        finally:
            await one.close()
            await two.close()
        if files:
            # Who does not speak so gets nothing.
            async with aiohttp.ClientSession() as http:
                with pytest.raises(aiohttp.ClientError):
                    await http.get(f"{server.base.replace('https', 'http')}/")
    with Store.open(str(home / "data" / "drillrunner.db")) as store:
        assert sorted(visit.bay for visit in store.visits()) == ["7", "8"]
        assert sorted(run.counted for run in store.history()) == [1, 1]
