"""What a request must be, whatever it asks for, and what every answer says to the browser."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable

BODY = 4096
"""Bytes that a form may have."""
FRAME = 4096
"""Bytes that a message of a phone may have."""
MOST_TYPED = 2048
"""Characters of one message that are typed."""
COLUMNS, ROWS = (10, 400), (5, 200)
"""Sizes of a screen, in cells."""


def host_name(host: str) -> str:
    """The name in a Host header, without its port; empty if it is none."""
    if host.startswith("["):
        name, bracket, rest = host[1:].partition("]")
        return name if bracket and (not rest or _is_port(rest)) else ""
    name, colon, port = host.partition(":")
    return "" if colon and not _is_port(f":{port}") else name.lower()


def _is_port(text: str) -> bool:
    return text[:1] == ":" and text[1:].isascii() and text[1:].isdigit() and len(text) <= 6


def good_host(host: str, names: Iterable[str]) -> bool:
    """Whether a Host header can mean this server: one of its names, or a plain address.

    A page elsewhere that has its own name lead here (DNS rebinding) can't have an address for one.
    """
    name = host_name(host)
    if not name:
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name in {known.lower() for known in names}
    return True


def good_origin(origin: str | None, scheme: str, host: str) -> bool:
    """Whether a page of this very server sent the request."""
    return origin is not None and origin.lower() == f"{scheme}://{host}".lower()


def headers(host: str, nonce: str = "") -> dict[str, str]:
    """What every answer says. nonce: the one that style sheets made by the page's script carry."""
    styles = f" 'nonce-{nonce}'" if nonce else ""
    connect = f"'self' ws://{host} wss://{host}"
    policy = {
        "default-src": "'none'",
        "script-src": "'self'",
        "style-src": f"'self'{styles}",
        "font-src": "'self'",
        "img-src": "'self'",
        "manifest-src": "'self'",
        "connect-src": connect,
        "form-action": "'self'",
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
    }
    return {
        "Content-Security-Policy": "; ".join(f"{name} {what}" for name, what in policy.items()),
        "X-Content-Type-Options": "nosniff",
        # What it is made of is nobody's business.
        "Server": "drillrunner",
        # Under no-referrer a browser would send its own forms with the origin "null".
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    }
