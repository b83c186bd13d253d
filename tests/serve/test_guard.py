"""The way in, as functions: wrong tries, links that work once, hashes, names of hosts."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.serve import checks, pages
from drillrunner.serve.guard import A_MINUTE, AN_HOUR, Guard, Tries
from drillrunner.serve.pins import bad_pin, hashed, is_pin
from drillrunner.serve.settings import BadSettings, unlisted
from drillrunner.serve.way import code, link


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


def test_five_wrong_a_minute_and_address_then_even_the_right_one_waits() -> None:
    clock = Clock()
    guard = Guard(pin="314159", open=False, tries=Tries(clock))
    for _ in range(A_MINUTE):
        assert not guard.let_in("000000", "here")
    assert guard.tries.wait("here") == 60
    assert not guard.let_in("314159", "here")
    assert guard.let_in("314159", "elsewhere")
    clock.now = 60
    assert guard.let_in("314159", "here")


def test_thirty_wrong_an_hour_in_all_whatever_their_addresses() -> None:
    clock = Clock()
    guard = Guard(pin="314159", open=False, tries=Tries(clock))
    for number in range(AN_HOUR):
        clock.now = number * 10
        assert not guard.let_in("000000", f"address {number}")
    assert not guard.let_in("314159", "another")
    assert guard.tries.wait("another") == 3600 - 290
    clock.now = 3600
    assert guard.let_in("314159", "another")


def test_a_link_works_once_and_the_next_is_told() -> None:
    told: list[str] = []
    guard = Guard(pin=None, open=False, tries=Tries(Clock()), on_used=told.append)
    first = guard.link
    assert guard.let_in(first, "here")
    assert told == [guard.link]
    assert guard.link != first
    assert not guard.let_in(first, "here")
    assert not guard.let_in("", "here")


@pytest.mark.parametrize("pin", ["", "12345", "1" * 13, "12345a", "١٢٣٤٥٦", " 123456"])
def test_what_is_no_pin(pin: str) -> None:
    assert bad_pin(pin)


def test_a_pin_is_kept_by_a_salted_slow_hash() -> None:
    kept = hashed("314159")
    assert kept != hashed("314159")
    assert "314159" not in kept
    assert is_pin("314159", kept)
    assert not is_pin("314158", kept)
    assert not is_pin("314159", "scrypt$broken")


@given(st.text(max_size=40))
def test_no_host_is_taken_but_names_and_plain_addresses(host: str) -> None:
    name = checks.host_name(host)
    if checks.good_host(host, ["bay"]) and name != "bay":
        assert set(name) <= set("0123456789abcdef.:%")


@pytest.mark.parametrize(
    ("host", "good"),
    [
        ("bay:8000", True),
        ("BAY", True),
        ("192.0.2.7:8000", True),
        ("[2001:db8::7]:8000", True),
        ("bay.example:8000", False),
        ("192.0.2.7.example", False),
        ("bay:", False),
        ("bay:x", False),
        ("", False),
        ("[bay", False),
    ],
)
def test_hosts(host: str, good: bool) -> None:
    assert checks.good_host(host, ["bay"]) is good


def test_origins() -> None:
    assert checks.good_origin("http://bay:8000", "http", "bay:8000")
    for origin in (None, "null", "http://bay:8001", "https://bay:8000", "http://bay.example:8000"):
        assert not checks.good_origin(origin, "http", "bay:8000")


def test_pin_and_database_come_from_a_file_of_the_owner_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DRILLRUNNER_DB")
    file = tmp_path / "serve.toml"
    assert unlisted(tmp_path) == {}
    file.write_text('pin = "314159"\ndb = "x.db"\n')
    file.chmod(0o600)
    assert unlisted(tmp_path) == {"pin": "314159", "db": "x.db"}
    monkeypatch.setenv("DRILLRUNNER_PIN", "271828")
    monkeypatch.setenv("DRILLRUNNER_DB", "y.db")
    assert unlisted(tmp_path) == {"pin": "271828", "db": "y.db"}
    file.chmod(0o640)
    with pytest.raises(BadSettings, match="open to others"):
        unlisted(tmp_path)
    file.chmod(0o600)
    file.write_text("pin = 314159\n")
    with pytest.raises(BadSettings, match="pin: expected a text"):
        unlisted(tmp_path)


def test_what_is_shown_on_a_page_is_text() -> None:
    made = pages.element("p", "<b>", title='"><script>')
    assert made == '<p title="&quot;&gt;&lt;script&gt;">&lt;b&gt;</p>'
    shown = pages.filled("play", nonce="x", player="<script>alert(1)</script>")
    assert "<script>alert" not in shown


def test_the_way_in_as_text_and_as_a_code() -> None:
    assert link("http", "192.0.2.7", 8000, "s") == "http://192.0.2.7:8000/in#s"
    assert link("https", "bay.example", 443, "") == "https://bay.example/"
    assert len(code("http://192.0.2.7:8000/").splitlines()) > 10
