"""What a stranger may try against a running server."""

from __future__ import annotations

import asyncio
import json
from urllib.parse import urlsplit

import aiohttp
import pytest

from tests.serve.here import here
from tests.serve.world import PATIENCE, phone

PIN = "314159"


async def raw(base: str, request: bytes) -> bytes:
    """The answer to bytes as they stand, until the server has sent it."""
    reader, writer = await asyncio.open_connection(urlsplit(base).hostname, urlsplit(base).port)
    writer.write(request)
    answer = await asyncio.wait_for(reader.read(65536), PATIENCE)
    writer.close()
    return answer


async def test_what_is_not_known_comes_no_further_than_the_way_in(home: object) -> None:
    async with here(pin=PIN) as server, phone(server.base) as one:
        _status, text = await one.get()
        assert "The PIN stands where the server was started" in text
        for path in ("who", "phone"):
            assert "The PIN stands" in (await one.get(path))[1]
        assert (await one.get("state"))[0] == 401
        with pytest.raises(aiohttp.WSServerHandshakeError, match="401"):
            await one.connect()
        assert (await one.post("in", given="271828"))[0] == 403
        assert (await one.post("who", do="new", name="Ann"))[1].count("The PIN stands")
        assert (await one.post("in", given=PIN))[0] == 200
        (cookie,) = one.http.cookie_jar
        assert cookie["httponly"]
        assert cookie["samesite"] == "Strict"
        assert "Who plays on this phone?" in (await one.get())[1]


async def test_a_foreign_page_can_do_nothing(home: object) -> None:
    async with here(pin=PIN) as server, phone(server.base) as one:
        await one.post("in", given=PIN)
        await one.post("who", do="new", name="Ann")
        own = one.base
        for origin in (
            "http://evil.example",
            "null",
            f"{own}.example",
            own.replace("http", "https"),
        ):
            headers = {"Origin": origin}
            async with one.http.post(f"{own}/phone", data={"do": "leave"}, headers=headers) as told:
                assert told.status == 403
            with pytest.raises(aiohttp.WSServerHandshakeError, match="403"):
                await one.http.ws_connect(f"{own}/socket?width=41&height=38", headers=headers)
        async with one.http.post(f"{own}/phone", data={"do": "leave"}) as told:
            assert told.status == 403
        rebound = {"Host": "evil.example"}
        async with one.http.get(f"{own}/", headers=rebound) as told:
            assert told.status == 421


async def test_wrong_pins_wait(home: object) -> None:
    async with here(pin=PIN) as server, phone(server.base) as one:
        for _ in range(5):
            assert (await one.post("in", given="000000"))[0] == 403
        status, text = await one.post("in", given=PIN)
        assert status == 429
        assert "too many wrong tries: wait" in text


async def test_a_link_works_once(home: object) -> None:
    async with here(open=False) as server:
        base, secret = server.base, server.links[0]
        assert len(secret) > 20
        async with phone(base) as one, phone(base) as other:
            assert (await one.post("in", given=secret))[0] == 200
            assert "Who plays" in (await one.get())[1]
            assert (await other.post("in", given=secret))[0] == 403
            assert (await other.post("in", given=server.links[-1]))[0] == 200


async def test_every_answer_is_strict_and_names_no_other_host(home: object) -> None:
    async with here(pin=PIN) as server, phone(server.base) as one:
        await one.post("in", given=PIN)
        await one.post("who", do="new", name="Ann")
        for path in ("", "in", "who", "phone", "static/play.js", "static/nothing", "nothing"):
            async with one.http.get(f"{one.base}/{path}") as answer:
                policy = answer.headers["Content-Security-Policy"]
                assert policy.startswith("default-src 'none'; script-src 'self';")
                assert "unsafe" not in policy
                assert answer.headers["X-Content-Type-Options"] == "nosniff"
                if answer.content_type == "text/html":
                    text = await answer.text()
                    assert "://" not in text
                    assert "<style" not in text
                    assert "style=" not in text
                    assert text.count("<script") == text.count('<script src="static/')


@pytest.mark.parametrize(
    "path",
    [
        "/static/../serve.toml",
        "/static/..%2fserver.py",
        "/static/%2e%2e/%2e%2e/server.py",
        "/static/....//server.py",
        "/static//etc/passwd",
        "/static/play.js%00.css",
        "/static/",
        "/static",
    ],
)
async def test_path_tricks(home: object, path: str) -> None:
    async with here(pin=PIN) as server:
        host = urlsplit(server.base).netloc
        answer = await raw(
            server.base,
            f"GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode(),
        )
        assert answer.split(b" ", 2)[1] in (b"404", b"400")
        assert b"import" not in answer


async def test_what_is_too_large_or_no_message_ends_that_connection_alone(home: object) -> None:
    async with here() as server, phone(server.base, "Ann") as one:
        await one.connect()
        await one.until("the app of")
        for wrong in (
            "x" * 5000,
            json.dumps(["stdin", "x" * 3000]),
            json.dumps(["resize", {"width": 10**9, "height": 3}]),
            json.dumps(["quit"]),
            json.dumps({"stdin": "x"}),
            "[" * 2000,
            "no json",
        ):
            assert one.socket is not None
            await one.socket.send_str(wrong)
            assert await one.until_closed() in (1008, 1009)
            await one.connect()
            await one.until("the app of")
        status, _ = await one.post("who", do="new", name="x" * 10000)
        assert status == 413


async def test_a_thousand_connections_leave_whoever_plays_alone(home: object) -> None:
    async with here(most=4) as server:
        place = (urlsplit(server.base).hostname, urlsplit(server.base).port)
        async with phone(server.base, "Ann") as one:
            await one.connect()
            await one.until("the app of")
            held = []
            for _ in range(1000):
                held.append((await asyncio.open_connection(*place))[1])
            await one.type("?")
            await one.until(r"typed \?")
            for made in held:
                made.close()
            async with asyncio.timeout(PATIENCE):
                while True:
                    try:
                        assert (await one.get("state"))[0] == 200
                        break
                    except aiohttp.ClientError:
                        await asyncio.sleep(0.1)


@pytest.mark.parametrize("name", ["<img src=x onerror=alert(1)>", "[bold]Ann[/]", "{{Ann}} $nonce"])
async def test_markup_in_a_name_is_text(home: object, name: str) -> None:
    async with here() as server, phone(server.base, name, size=(80, 40)) as one:
        _, text = await one.get()
        assert "<img" not in text
        assert "onerror" not in text or "&lt;img" in text
        await one.connect()
        await one.until("the app of")
        assert name in one.text()


async def test_escape_sequences_in_a_name_are_refused(home: object) -> None:
    async with here() as server, phone(server.base) as one:
        await one.get()
        status, text = await one.post("who", do="new", name="Ann\x1b]0;x\x07")
        assert status == 403
        assert "\x1b" not in text


async def test_a_lost_phone_is_signed_out_from_another_one_and_at_the_server(home: object) -> None:
    from drillrunner.cli.main import main

    async with here() as server, phone(server.base, "Ann") as lost, phone(server.base) as other:
        await lost.connect()
        await lost.until("the app of")
        await other.get()
        await other.post("who", do="had", name="Ann")
        _, page = await other.get("phone")
        hashes = [part.split('"')[0] for part in page.split('name="phone" value="')[1:]]
        assert len(hashes) == 2
        this = next(row for row in page.split("<li>") if "(this one)" in row)
        (gone,) = (hash for hash in hashes if hash not in this)
        put_out = asyncio.create_task(lost.until_closed())
        await other.post("phone", do="out", phone=gone)
        assert await put_out == 4003
        assert (await lost.get("state"))[0] == 401
        await other.connect()
        await other.until("the app of")
        assert main(["phones", "--sign-out", "all"]) == 0
        assert await other.until_closed() == 4003


async def test_a_pin_of_ones_own(home: object) -> None:
    async with here() as server, phone(server.base) as one, phone(server.base) as other:
        await one.get()
        await other.get()
        assert "6 to 12 digits" in (await one.post("who", do="new", name="Ann", pin="123"))[1]
        assert (await one.post("who", do="new", name="Ann", pin="161803"))[0] == 200
        status, text = await other.post("who", do="had", name="Ann", pin="141421")
        assert status == 403
        assert "the PIN is not Ann&#x27;s" in text
        assert (await other.post("who", do="had", name="Ann", pin="161803"))[0] == 200
        assert (await one.post("phone", do="pin", before="000000", pin=""))[0] == 403
        assert (await one.post("phone", do="pin", before="161803", pin=""))[0] == 200


async def test_a_button_that_is_tapped_twice_makes_one_player(home: object) -> None:
    async with here() as server, phone(server.base) as one, phone(server.base) as other:
        await one.get()
        await other.get()
        twice = [one.post("who", do="new", name="Ann") for _ in range(2)]
        assert [status for status, _ in await asyncio.gather(*twice)] == [200, 200]
        assert (await other.post("who", do="new", name="Ann"))[0] == 403


async def test_where_it_is_private_nobody_is_listed(home: object) -> None:
    async with here(private=True) as server, phone(server.base) as one, phone(server.base) as other:
        await one.get()
        await other.get()
        assert (await one.post("who", do="new", name="Ann"))[0] == 403
        assert (await one.post("who", do="new", name="Ann", pin="161803"))[0] == 200
        assert "Ann" not in (await other.get("who"))[1]
        unknown = await other.post("who", do="had", name="Bo", pin="161803")
        wrong = await other.post("who", do="had", name="Ann", pin="161804")
        assert unknown == wrong
        assert (await other.post("who", do="had", name="ann", pin="161803"))[0] == 200
