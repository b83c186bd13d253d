"""A server that goes away: one line, and what was typed is on disk once, or waits for it."""

from __future__ import annotations

import os
import signal
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

import psycopg
import pytest

from drillrunner.rules.keypad import read
from drillrunner.store import server as servers
from drillrunner.store import wire
from drillrunner.store.errors import DiskTrouble, PlayedElsewhere
from drillrunner.store.round_book import NewRound
from drillrunner.store.shapes import SessionEvent
from drillrunner.store.store import Store
from drillrunner.store.writer import News, Writer
from tests.store.postgres import Server, asked, missing


@pytest.fixture
def own_server() -> Iterator[Server]:
    if why := missing():
        pytest.skip(why)
    server = Server()
    server.start()
    yield server
    server.remove()


def test_what_is_typed_while_the_server_is_away_waits_and_is_there_once(
    own_server: Server, catalogue, clock
) -> None:
    drill = catalogue.drill("hold-the-corridor")
    news: list[News] = []
    settled = threading.Event()
    with Store.open(own_server.url, clock) as store:
        playing = store.begin(store.add_player("Ines").id, drill)

        def told(one: News) -> None:
            news.append(one)
            if one.outcome == "waiting" or not one.waiting:
                settled.set()

        writer = Writer(told)

        def type_all(balls: str) -> None:
            settled.clear()
            for ball in balls:
                entry, at = read(ball, drill.game().ask), clock()
                writer.put(ball, lambda e=entry, t=at: playing.append_all((e,), (t,)))
            assert settled.wait(30)

        type_all("55")
        own_server.stop()
        type_all("454")
        assert not writer.state.kept
        assert "\n" not in str(writer.state)
        with pytest.raises(DiskTrouble) as trouble:
            store.players()
        assert "\n" not in str(trouble.value)
        settled.clear()
        own_server.start()
        writer.again()
        assert writer.settle(30)
        assert not writer.close(5)
        assert [one.words for one in news if one.outcome == "kept"] == list("55454")
        assert [one.text for one in store.entries(playing.id)] == list("55454")
    (count,) = asked(own_server.url, "SELECT count(*) FROM entry")[0]
    assert count == 5


@pytest.fixture
def twice(monkeypatch) -> Callable[[Callable[[], Any]], Any]:
    """Do something whose first try the server keeps, and goes before it says so."""
    real = servers.transaction

    @contextmanager
    def goes_after_it_kept(*of, **fields):
        with real(*of, **fields) as connection:
            yield connection
        raise psycopg.OperationalError("server closed the connection unexpectedly")

    def do(what: Callable[[], Any]) -> Any:
        with monkeypatch.context() as patched:
            patched.setattr(servers, "transaction", goes_after_it_kept)
            with pytest.raises(DiskTrouble):
                what()
        return what()

    return do


def test_a_ball_that_was_kept_and_not_confirmed_is_there_once(url, catalogue, clock, twice) -> None:
    drill = catalogue.drill("hold-the-corridor")
    with Store.open(url, clock) as store:
        playing = store.begin(store.add_player("Ines").id, drill)
        for count in (1, 2):
            entry, at = read("5", drill.game().ask), clock()
            run = twice(lambda e=entry, t=at: playing.append_all((e,), (t,)))
            assert run.counted == count
        assert len(store.entries(playing.id)) == 2
        # An app that never saw it is told that the run was played on.
        assert store.open_runs()[0].counted == 2


def test_what_happened_in_a_session_and_was_not_confirmed_is_there_once(url, clock, twice) -> None:
    with Store.open(url, clock) as store:
        ines, began, id = store.add_player("Ines"), clock(), str(uuid.uuid4())
        first = SessionEvent(1, began, "started", {"spent": 0.0})
        info = twice(lambda: store.add_session(ines.id, {"minutes": 30}, first, id))
        assert [one.id for one in store.sessions()] == [info.id]
        found = {"club": "7i", "swing": "full", "carry": Decimal(140), "low": Decimal(130)}
        found |= {"high": Decimal(150), "spread": Decimal(5), "unit": "yd"}
        at = clock()
        told = ("reveal", {"spent": 4.0, "by": "Ines, Jörg"})
        event = twice(lambda: store.append_event(id, 2, *told, at=at, found=found))
        assert store.session(id).events == (first, event)
        assert len(store.stock_carries(ines.id, every=True)) == 1
        twice(lambda: store.append_event(id, 3, "stop", {"spent": 5.0}, at=at, ends=True))
        assert store.session(id).ended_at == at
        # Another one in the same place is somebody else's, though there was trouble before.
        store.once._unsure.add(id)
        with pytest.raises(PlayedElsewhere):
            store.append_event(id, 3, "stop", {"spent": 6.0}, at=at)


def test_a_hole_that_was_kept_and_not_confirmed_is_there_once(url, clock, twice) -> None:
    with Store.open(url, clock) as store:
        ines, id = store.add_player("Ines"), str(uuid.uuid4())
        new = NewRound(clock().date(), "score", data={"holes": 2}, id=id)
        (info,) = twice(lambda: store.rounds.add(ines.id, new))
        for told in (
            [("hole", {"hole": 1, "score": 5})],
            [("hole", {"hole": 2}), ("finished", {})],
        ):
            at, before = clock(), info
            info = twice(lambda b=before, t=told, at=at: store.rounds.tell_on(b, t, at))
            assert info == store.rounds.round(id)
        assert [one.seq for one in store.rounds.of(ines.id)] == [3]
        assert info.card.finished
        with pytest.raises(PlayedElsewhere):
            store.rounds.tell_on(before, [("hole", {"hole": 2, "score": 4})], clock())


def test_who_came_or_went_and_was_not_confirmed_is_told_once(url, catalogue, clock, twice) -> None:
    with Store.open(url, clock) as store:
        players = [store.add_player(name) for name in ("Ines", "Tobi")]
        match = store.add_match("any", [(one.id, {}) for one in players], {"moves": 0})
        change = {"data": {"moves": 1}, "known": match.data}
        after = twice(lambda: store.change_match(match.id, ends=True, **change))
        assert after == store.match(match.id)
        with pytest.raises(PlayedElsewhere):
            store.change_match(match.id, **change)


def test_an_app_has_one_connection(new_url, clock) -> None:
    with Store.open(new_url, clock) as store:
        for name in ("Ines", "Tobi"):
            store.add_player(name)
            store.players()
        count = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
        assert asked(new_url, count)[0][0] == 2, "one of the app, and the one that asks"


def test_the_same_drill_is_begun_in_two_bays_at_once(url, catalogue, clock) -> None:
    drill = catalogue.drill("hold-the-corridor")
    with Store.open(url, clock) as one, Store.open(url, clock) as two:
        runs = [s.begin(s.add_player(n).id, drill) for s, n in ((one, "Ines"), (two, "Tobi"))]
        barrier, wrong = threading.Barrier(2), []

        def play(playing) -> None:
            barrier.wait(10)
            try:
                playing.append(read("5", drill.game().ask))
            except Exception as error:
                wrong.append(error)

        threads = [threading.Thread(target=play, args=(run,)) for run in runs]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert not wrong
        assert len(one.history()) == 2


def stopped_while_asked(store: Store) -> None:
    """Ask a server that stops in the middle of a transaction."""
    with store.database.reading() as connection:
        pid = connection.exec_driver_sql("SELECT pg_backend_pid()").scalar_one()
        os.kill(pid, signal.SIGSTOP)
        try:
            connection.exec_driver_sql("SELECT 1")
        finally:
            os.kill(pid, signal.SIGCONT)


def test_a_server_that_says_nothing_is_trouble_and_not_waited_for_without_end(
    url, monkeypatch
) -> None:
    with Store.open(url) as store:
        monkeypatch.setattr(wire.Patient, "limit", 0.2)
        with pytest.raises(DiskTrouble, match="the server does not answer"):
            stopped_while_asked(store)
        assert store.players() == ()
