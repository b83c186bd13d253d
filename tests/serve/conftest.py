"""Without what serves, nothing here is tried."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import closing
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.serve.finger import World

for name in ("aiohttp", "segno", "textual_serve"):
    pytest.importorskip(name, reason=f"{name} is not installed: pip install 'drillrunner[serve]'")


@pytest.fixture(scope="package")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """A server with a browser before it, for all tests here."""
    from tests.serve.browser import Browser
    from tests.serve.finger import World
    from tests.serve.world import served

    folder = tmp_path_factory.mktemp("phones")
    database = folder / "data" / "drillrunner.db"
    env = {f"DRILLRUNNER_{name.upper()}": str(folder / name) for name in ("config", "data")}
    env |= {"DRILLRUNNER_DB": str(database), "HOME": str(folder)}
    with served(env=env) as server, closing(Browser(folder)) as browser:
        yield World(server.base, server, browser, database, count(1))


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    """A certificate for this machine, and its key."""
    certificate, key = tmp_path / "certificate.pem", tmp_path / "key.pem"
    words = "req -x509 -nodes -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -days 2"
    name = ("-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1")
    files = ("-keyout", str(key), "-out", str(certificate))
    subprocess.run(["openssl", *words.split(), *name, *files], check=True, capture_output=True)
    return certificate, key
