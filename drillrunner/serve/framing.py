"""Packets between the server and an app, as Textual's driver of a browser reads and writes them.

One byte for the kind (`D` what is typed or drawn, `M` a note in JSON, `P` a file), four for the
length, most significant first, then so many bytes. A line goes before an app's first packet.
"""

from __future__ import annotations

import json
from asyncio import IncompleteReadError, StreamReader
from typing import Any

HELLO = b"__GANGLION__\n"
PACKET_MOST = 8 * 1024 * 1024
"""Bytes of one packet; a screen of 400 by 200 cells has less than half of that."""


def typed_packet(text: str) -> bytes:
    """A packet of what was typed."""
    return _packet(b"D", text.encode("utf-8", "replace"))


def note(**what: Any) -> bytes:
    """A packet that tells something: `type` and what belongs to it."""
    return _packet(b"M", json.dumps(what).encode())


def _packet(kind: bytes, payload: bytes) -> bytes:
    return kind + len(payload).to_bytes(4, "big") + payload


async def hello(reader: StreamReader) -> bool:
    """Whether an app says that it is one; anything that it prints before is passed over."""
    for _ in range(10):
        try:
            line = await reader.readline()
        except ValueError:
            return False
        if not line or line == HELLO:
            return line == HELLO
    return False


async def packet(reader: StreamReader) -> tuple[bytes, bytes] | None:
    """The next packet's kind and payload; `None` when there is none any more."""
    try:
        head = await reader.readexactly(5)
        size = int.from_bytes(head[1:], "big")
        if size > PACKET_MOST:
            return None
        return head[:1], await reader.readexactly(size)
    except (IncompleteReadError, ConnectionError):
        return None
