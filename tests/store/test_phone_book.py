"""Phones, PINs and who stands on boards, as they are kept; `forget` takes all of it."""

from __future__ import annotations

import pytest

from drillrunner.rules.keypad import read
from drillrunner.store import forget
from drillrunner.store import tables as t
from drillrunner.store.errors import StoreError
from drillrunner.store.phone_book import LAST, bay_of, hash_of


def test_phones_are_kept_without_their_cookies(store, ines, path) -> None:
    phones = store.phones
    cookie, phone = phones.new("Android")
    assert phones.find(hash_of(cookie)) == phone
    phones.belongs(phone.hash, ines.id)
    phones.here(phone.hash, "7")
    assert [(one.player, one.bay) for one in phones.all()] == [(ines.id, "7")]
    phones.sign_out(phone.hash)
    assert phones.find(phone.hash) is None
    assert not phones.all()
    kept = b"".join(file.read_bytes() for file in path.parent.iterdir())
    assert phone.hash.encode() in kept
    assert cookie.encode() not in kept


def test_a_phone_that_never_came_back_goes(store, clock) -> None:
    _, phone = store.phones.new("Android")
    clock.now = clock.now.fromtimestamp(clock.now.timestamp() + LAST, clock.now.tzinfo)
    store.phones.new("Android")
    assert store.phones.find(phone.hash) is None


def test_a_pin_is_one_until_it_is_another_or_none(store, ines) -> None:
    for kept in ("a hash", "another", None):
        store.phones.set_pin(ines.id, kept)
        assert store.phones.pin_of(ines.id) == kept
    with pytest.raises(StoreError, match="no player"):
        store.phones.set_pin("nobody", "a hash")


def test_a_bay_has_a_short_name(store) -> None:
    assert bay_of(" ") is None
    assert bay_of(" upper  7 ") == "upper 7"
    for wrong in ("x" * 21, "7\x1b[31m"):
        with pytest.raises(StoreError, match="bay"):
            bay_of(wrong)


def test_forgetting_takes_phones_pin_and_word_along(store, ines) -> None:
    _, phone = store.phones.new("Android")
    store.phones.belongs(phone.hash, ines.id)
    store.phones.set_pin(ines.id, "a hash")
    store.boards.share(ines.id, True)
    gone = forget.forget(store.database, ines.id)
    assert (gone["phones"], gone["PIN"], gone["words on standing on boards"]) == (1, 1, 1)
    assert store.phones.find(phone.hash) is None
    with store.database.reading() as connection:
        for table in (t.phones, t.pin, t.sharing):
            assert connection.execute(table.select()).first() is None


def test_the_bay_is_kept_with_the_visit(store, ines, catalogue) -> None:
    drill = catalogue.drill("hold-the-corridor")
    for bay, wanted in ((None, None), ("7", "7"), (None, "7"), ("8", "8")):
        store.database.bay = bay
        playing = store.begin(ines.id, drill, tally=True)
        playing.append(read("5", drill.game().ask))
        assert [visit.bay for visit in store.visits(ines.id)] == [wanted]
        store.give_up(playing.id)
