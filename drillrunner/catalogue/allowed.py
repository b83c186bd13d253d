"""The Python games that the user has allowed to run, each by its exact content.

The list is an owner-only file in the user's config folder: never in a database, which others may
be handed.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from drillrunner.catalogue import places
from drillrunner.catalogue.files import write_whole
from drillrunner.catalogue.tomltext import Unreadable, read_bytes


@dataclass(frozen=True, slots=True)
class Allowed:
    """The sha256 of each allowed file, with its path when it was allowed.

    why: why the list can't be trusted, in one line; it is then empty.
    """

    files: Mapping[str, str] = field(default_factory=dict)
    why: str | None = None

    def __contains__(self, digest: object) -> bool:
        return digest in self.files


def list_file() -> Path:
    """Where the list lies."""
    return places.config_dir() / "allowed.json"


def read() -> Allowed:
    """The list as it stands; empty, with the reason, if someone else could have written it."""
    file = list_file()
    if not os.path.lexists(file):
        return Allowed()
    try:
        about = os.stat(file)
        mine = not hasattr(os, "getuid") or about.st_uid == os.getuid()
        if os.name == "posix" and (not mine or stat.S_IMODE(about.st_mode) & 0o077):
            raise Unreadable("is open to others: expected a file of yours with mode 600")
        files = json.loads(read_bytes(file))["allowed"]
        if not all(isinstance(part, str) for pair in files.items() for part in pair):
            raise ValueError("hash to file")
    except (Unreadable, OSError) as error:
        return Allowed(why=f"not allowed to run: the allow list {file} {error}")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return Allowed(why=f"not allowed to run: the allow list {file} is damaged; remove it")
    return Allowed(files)


def allow(path: Path) -> str:
    """Allow exactly what the file now holds; returns its sha256. Raises Unreadable, OSError."""
    content = read_bytes(path)
    if path.suffix.lower() != ".py":
        raise Unreadable("expected a Python file with one game (.py)")
    now = read()
    if now.why:
        raise Unreadable(now.why.removeprefix("not allowed to run: "))
    digest = hashlib.sha256(content).hexdigest()
    files = {**now.files, digest: str(path.resolve())}
    file = list_file()
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_whole(file, [json.dumps({"allowed": files}, indent=1, sort_keys=True)], over=True)
    return digest
