"""PINs as they are kept: through a slow hash, each with a salt of its own."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

FEWEST, MOST = 6, 12
"""Digits of a PIN."""
N, R, P = 1 << 14, 8, 1
"""Cost of scrypt (RFC 7914): 16 MiB and some tens of milliseconds a guess."""
MEMORY = 64 * 1024 * 1024

_PIN = re.compile(rf"[0-9]{{{FEWEST},{MOST}}}")


def bad_pin(pin: str) -> str | None:
    """Why a PIN can't be one, in a line; `None` if it can."""
    if _PIN.fullmatch(pin):
        return None
    return f"a PIN has {FEWEST} to {MOST} digits and nothing else"


def hashed(pin: str) -> str:
    """A PIN as it is kept: `scrypt$n$r$p$salt$hash`, the last two in hex."""
    salt = secrets.token_bytes(16)
    return f"scrypt${N}${R}${P}${salt.hex()}${_hash(pin, salt, N, R, P).hex()}"


def is_pin(pin: str, kept: str) -> bool:
    """Whether a PIN is the one that was kept; takes as long if it is not."""
    try:
        kind, n, r, p, salt, wanted = kept.split("$")
        if kind != "scrypt":
            return False
        found = _hash(pin, bytes.fromhex(salt), int(n), int(r), int(p))
        return hmac.compare_digest(found, bytes.fromhex(wanted))
    except ValueError:
        return False


def _hash(pin: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    return hashlib.scrypt(pin.encode(), salt=salt, n=n, r=r, p=p, maxmem=MEMORY, dklen=32)
