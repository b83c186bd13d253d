"""Code that waits is set aside, and the loop goes on; outside an errand it simply waits."""

from __future__ import annotations

import asyncio
import threading
from contextvars import ContextVar

import pytest

from drillrunner.store import background
from drillrunner.store.aside import Abandoned, Errand, in_thread, waits

SOON = 30


class Wrong(Exception):
    """What goes wrong within one."""


def nothing(_: Errand) -> None:
    """Nobody is told."""


async def over(errand: Errand) -> None:
    """Wait until an errand is over."""
    async with asyncio.timeout(SOON):
        while not errand.over:
            await asyncio.sleep(0.001)


async def test_what_need_not_wait_is_over_at_once() -> None:
    done = []
    errand = Errand(lambda: done.append(waits()), nothing)
    assert errand.go()
    assert done == [True]
    assert not waits()


async def test_the_loop_goes_on_while_it_waits_and_it_goes_on_where_it_was() -> None:
    gate, seen, told = threading.Event(), list[object](), list[Errand]()
    here = threading.get_ident()

    def do() -> None:
        found = in_thread(lambda: gate.wait(SOON) and threading.get_ident())
        seen.extend((found != here, threading.get_ident() == here, waits()))

    errand = Errand(do, told.append)
    assert not errand.go()
    for _ in range(5):
        await asyncio.sleep(0.001)
    assert not seen
    gate.set()
    await over(errand)
    assert seen == [True, True, True]
    assert told == [errand]
    assert errand.trouble is None


async def test_what_goes_wrong_in_the_thread_goes_wrong_in_the_code() -> None:
    def wrong() -> None:
        raise Wrong

    seen = []

    def do() -> None:
        try:
            in_thread(wrong)
        except Wrong:
            seen.append("caught")
        in_thread(wrong)

    errand = Errand(do, nothing)
    errand.go()
    await over(errand)
    assert seen == ["caught"]
    assert isinstance(errand.trouble, Wrong)


async def test_one_that_is_left_puts_its_things_in_order_and_waits_no_more() -> None:
    gate, seen = threading.Event(), list[str]()

    def do() -> None:
        try:
            in_thread(gate.wait)
        except Abandoned:
            seen.append("left")
            raise
        finally:
            try:
                in_thread(gate.wait)
            except Abandoned:
                seen.append("no more")

    errand = Errand(do, nothing)
    errand.go()
    errand.leave()
    assert errand.over
    assert seen == ["left", "no more"]
    assert errand.trouble is None
    gate.set()
    await asyncio.sleep(0.01)


async def test_one_that_nobody_wants_any_more_ends_where_it_would_wait_next() -> None:
    wanted, seen = [True], list[str]()

    def do() -> None:
        try:
            in_thread(lambda: None)
            wanted.clear()
            in_thread(lambda: None)
            seen.append("went on")
        finally:
            # What it has to put in order may wait.
            in_thread(lambda: seen.append("in order"))

    errand = Errand(do, nothing, lambda: bool(wanted))
    errand.go()
    await over(errand)
    assert seen == ["in order"]
    assert errand.trouble is None


async def test_what_nobody_wants_to_be_kept_is_undone_and_the_next_is_written(store) -> None:
    wanted = [True]

    def do() -> None:
        with store.database.writing() as connection:
            connection.exec_driver_sql("CREATE TABLE strange (a INTEGER)")
            wanted.clear()

    store.add_player("Ines")
    errand = Errand(do, nothing, lambda: bool(wanted))
    errand.go()
    await over(errand)
    assert errand.trouble is None
    store.add_player("Tobi")
    assert [one.name for one in store.players()] == ["Ines", "Tobi"]
    with store.database.reading() as connection:
        found = connection.exec_driver_sql("SELECT 1 FROM sqlite_master WHERE name = 'strange'")
        assert found.all() == []


async def test_it_keeps_the_context_that_it_was_begun_in() -> None:
    place: ContextVar[str] = ContextVar("place", default="nowhere")
    seen = []

    def do() -> None:
        seen.append(in_thread(place.get))
        seen.append(place.get())
        place.set("elsewhere")

    place.set("begun")
    errand = Errand(do, nothing)
    errand.go()
    place.set("later")
    await over(errand)
    assert seen == ["begun", "begun"]
    assert place.get() == "later"


def test_outside_of_one_it_is_done_here() -> None:
    assert in_thread(threading.get_ident) == threading.get_ident()


async def test_work_in_the_background_tells_what_became_of_it() -> None:
    def wrong() -> None:
        raise Wrong

    assert await background.done(lambda: 3) == 3
    with pytest.raises(Wrong):
        await background.done(wrong)


def test_no_thread_in_the_background_keeps_a_loop_from_ending() -> None:
    gate = threading.Event()

    async def all_of_it() -> None:
        background.begun(lambda: gate.wait(SOON))

    asyncio.run(all_of_it())
    gate.set()
