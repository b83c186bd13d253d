"""The bay that a link names goes with the phone for a visit, through the way in too."""

from __future__ import annotations

from drillrunner.store.store import Store
from tests.serve.here import here
from tests.serve.world import Phone


async def test_a_link_names_the_bay(home) -> None:
    async with here(pin="314159") as at:
        one = Phone(at.base)
        try:
            await one.get("?bay=upper%207")
            assert (await one.post("in", given="314159"))[0] == 200
            with Store.open(str(home / "data" / "drillrunner.db")) as store:
                await one.get("phone")
                assert [phone.bay for phone in store.phones.all()] == ["upper 7"]
                for wrong in ("?bay=", "?bay=" + "x" * 30, "?bay=%1b%5b31m", "?bay=%00"):
                    await one.get(wrong)
                    assert [phone.bay for phone in store.phones.all()] == ["upper 7"]
                await one.get("?bay=8")
                assert [phone.bay for phone in store.phones.all()] == ["8"]
        finally:
            await one.close()
