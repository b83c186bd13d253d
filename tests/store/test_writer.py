"""What is typed is written in its order by another thread, whatever the disk does meanwhile."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing

from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.rules.run import Refused
from drillrunner.store.errors import Busy, DiskTrouble, Moved, PlayedElsewhere, StoreError
from drillrunner.store.writer import News, Queue, Writer
from tests.store.conftest import entry

ENDS = {
    "busy": Busy("held"),
    "full": DiskTrouble("the disk is full"),
    "moved": Moved("replaced"),
    "rules": Refused("nothing to undo"),
    "elsewhere": PlayedElsewhere("played elsewhere"),
    "fault": ValueError("a fault"),
}
STEPS = st.lists(st.sampled_from(["put", "wrote", "drop", *ENDS]), max_size=40)


@given(STEPS)
def test_each_thing_has_one_end_and_they_come_in_order(steps: list[str]) -> None:
    queue, news, put, disk = Queue(), list[News](), list[str](), list[str]()
    for step in steps:
        head = queue.head
        if step == "put":
            put.append(queue.put(str(len(put)), lambda: None).words)
        elif step == "drop":
            news += queue.drop()
        elif head is not None and step == "wrote":
            disk.append(head.words)
            news.append(queue.wrote(None))
        elif head is not None:
            news.append(queue.failed(ENDS[step]))
    ends = [
        words for one in news if one.outcome != "waiting" for words in (one.words, *one.dropped)
    ]
    assert [*ends, *queue.words] == put
    assert [one.words for one in news if one.outcome == "kept"] == disk
    assert queue.state.kept == (len(ends) == len(put))
    assert str(queue.state).startswith("kept" if queue.state.kept else "waiting for the disk: ")


@given(st.lists(st.sampled_from(["wrote", "busy", "full", "moved"]), max_size=30))
def test_what_is_on_disk_is_a_prefix_of_what_was_typed(steps: list[str]) -> None:
    queue, disk = Queue(), list[str]()
    typed = [queue.put(str(number), lambda: None).words for number in range(20)]
    for step in steps:
        head = queue.head
        if head is not None and step == "wrote":
            disk.append(head.words)
            queue.wrote(None)
        elif head is not None:
            queue.failed(ENDS[step])
        assert disk == typed[: len(disk)]
        assert queue.state.waiting == len(typed) - len(disk)


def test_what_is_refused_by_the_rules_lets_the_next_through() -> None:
    queue = Queue()
    for words in ("undo", "5"):
        queue.put(words, lambda: None)
    assert queue.failed(Refused("nothing to undo")).dropped == ()
    assert queue.words == ("5",)


def test_what_was_typed_unseeing_is_not_written() -> None:
    queue = Queue()
    for words in ("5", "4", "6"):
        queue.put(words, lambda: None)
    assert queue.failed(PlayedElsewhere("elsewhere")).dropped == ("4", "6")
    assert queue.state.kept


def test_a_state_in_words() -> None:
    queue = Queue()
    assert str(queue.state) == "kept"
    for words in ("5", "4", "6"):
        queue.put(words, lambda: None)
    assert str(queue.state) == "waiting for the disk: 3 to write"
    queue.failed(DiskTrouble("the disk is full"))
    assert str(queue.state) == "waiting for the disk: 3 to write (the disk is full)"


@settings(max_examples=12)
@given(st.lists(st.booleans(), min_size=6, max_size=6))
def test_the_lock_may_come_at_any_time(tmp_path_factory, catalogue, locks: list[bool]) -> None:
    """A real file, held by another program before some of the balls are typed."""
    from drillrunner.store.store import Store

    path = tmp_path_factory.mktemp("writer") / "drillrunner.db"
    with Store.open(path) as store, closing(sqlite3.connect(path, isolation_level=None)) as other:
        player = store.add_player("Ines")
        playing = store.begin(player.id, catalogue.drill("miss-total"))
        ask = playing.run.game.ask
        news, told = list[News](), threading.Event()

        def tell(one: News) -> None:
            news.append(one)
            told.set()

        def write(word: str) -> object:
            with store.database.patient(0.01):
                return playing.append(entry(word, ask))

        writer = Writer(tell)
        typed = [f"+{5 * number}" for number in range(len(locks))]
        for word, lock in zip(typed, locks, strict=True):
            if lock != other.in_transaction:
                if lock:
                    assert writer.settle(20)
                other.execute("BEGIN IMMEDIATE" if lock else "ROLLBACK")
            before = [e.text for e in store.entries(playing.id)] if playing.begun else []
            writer.put(word, lambda word=word: write(word))
            if lock:
                after = [e.text for e in store.entries(playing.id)] if playing.begun else []
                assert after == before, "nothing is shown as kept that is not"
        if other.in_transaction:
            assert not writer.settle(0.05)
            other.execute("ROLLBACK")
        assert writer.settle(20)
        assert writer.close() == ()
        assert [e.text for e in store.entries(playing.id)] == typed
        assert [one.words for one in news if one.outcome == "kept"] == typed


def test_a_moved_file_waits_until_it_is_asked_for_again() -> None:
    news, fail = list[News](), [True]
    waits = threading.Event()

    def tell(one: News) -> None:
        news.append(one)
        if one.outcome == "waiting":
            waits.set()

    def write() -> str:
        if fail[0]:
            raise Moved("replaced")
        return "there"

    writer = Writer(tell)
    writer.put("5", write)
    assert waits.wait(20)
    fail[0] = False
    assert not writer.settle(0.1), "not until somebody says so"
    writer.again()
    assert writer.settle(20)
    writer.close()
    assert [(one.outcome, one.value) for one in news] == [("waiting", None), ("kept", "there")]


def test_paused_until_the_records_are_open_and_given_up_on_leaving() -> None:
    news: list[News] = []
    writer = Writer(news.append, paused=True)
    done: list[int] = []
    writer.put("5", lambda: done.append(5))
    assert not writer.settle(0.05)
    writer.go()
    assert writer.settle(20)
    held = threading.Event()

    def busy() -> None:
        held.set()
        raise Busy("held")

    writer.put("4", busy)
    writer.put("6", lambda: done.append(6))
    assert held.wait(20)
    writer.close(0.05)
    assert done == [5]
    ends = {one.words: one.outcome for one in news}
    assert ends == {"5": "kept", "4": "dropped", "6": "dropped"}


def test_a_refusal_that_is_no_trouble_of_the_disk_stays_one(store) -> None:
    assert issubclass(Busy, StoreError)
    assert issubclass(Moved, DiskTrouble)
    assert not issubclass(PlayedElsewhere, DiskTrouble)
