"""Which bay a phone is in: its link says so (`?bay=7`), and it is kept for the visit."""

from __future__ import annotations

from urllib.parse import quote, unquote

from aiohttp import web

from drillrunner.store.errors import StoreError
from drillrunner.store.phone_book import bay_of

COOKIE = "drillrunner-bay"
VISIT = 12 * 3600
"""Seconds that a visit may last at most: after that a link has to say it again."""


def named(request: web.Request) -> str | None:
    """The bay that a request's link names, else the one that a link of this visit named."""
    return _sound(request.query.get("bay", "")) or _sound(unquote(request.cookies.get(COOKIE, "")))


def keep(request: web.Request, response: web.StreamResponse, secure: bool) -> None:
    """Let the phone keep the bay that its link names."""
    bay = _sound(request.query.get("bay", ""))
    if bay is not None:
        kept = {"httponly": True, "samesite": "Strict", "secure": secure, "path": "/"}
        response.set_cookie(COOKIE, quote(bay, safe=""), max_age=VISIT, **kept)  # type: ignore[arg-type]


def _sound(text: str) -> str | None:
    try:
        return bay_of(text)
    except StoreError:
        return None
