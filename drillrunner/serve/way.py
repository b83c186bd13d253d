"""Where to find the server: an address for phones, as text and as a code for their cameras."""

from __future__ import annotations

import io
import socket
from ipaddress import ip_address

import segno


def addresses(on: str) -> list[str]:
    """The addresses at which a phone can reach a server that listens `on` this one."""
    try:
        address = ip_address(on)
    except ValueError:
        return [on]
    if not address.is_unspecified:
        return [f"[{on}]" if address.version == 6 else on]
    return [_outward()]


def _outward() -> str:
    """Our address towards the network. Nothing is sent: a datagram socket only looks up the way."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # An address that is set aside for documents and leads nowhere (RFC 5737).
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def names(on: str) -> list[str]:
    """What this machine is called, besides its addresses."""
    own = socket.gethostname().lower()
    found = {"localhost", own, own.partition(".")[0], f"{own.partition('.')[0]}.local", on.lower()}
    return sorted(found - {""})


def link(scheme: str, address: str, port: int, secret: str) -> str:
    """The way in. A secret stands behind the #, which a browser never sends by itself."""
    standard = {"http": 80, "https": 443}[scheme]
    place = f"{scheme}://{address}" + ("" if port == standard else f":{port}")
    return f"{place}/in#{secret}" if secret else f"{place}/"


def code(text: str) -> str:
    """A text as a QR code (ISO/IEC 18004), drawn with characters of half a cell."""
    drawn = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(drawn, compact=True)
    return drawn.getvalue()
