"""A PostgreSQL server of the tests' own, where one is installed: one for all of a test run.

`DRILLRUNNER_TEST_POSTGRESQL=postgresql+psycopg://user@host/database` names another to be used.
"""

from __future__ import annotations

import ctypes
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
import uuid
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.engine import make_url

from drillrunner.store.store import Store
from drillrunner.store.tables import metadata

NAMED = os.environ.get("DRILLRUNNER_TEST_POSTGRESQL", "")
FOLDERS = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: float(p.parent.name))
"""Where Debian has its programs, which are on no path."""
QUICK = ("fsync=off", "full_page_writes=off", "shared_buffers=16MB", "max_connections=120")
"""A test does not pull the plug of the machine; `Server(sure=True)` leaves all on."""
OTHERS = (
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
    "WHERE datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()"
)
"""Ends all other connections to a database: what the server does there itself has no user."""
PATIENCE = 30.0
PR_SET_PDEATHSIG = 1
"""Of prctl(2)."""


def programs() -> Path | None:
    """The folder of `postgres` and `initdb`; `None` where they are not installed."""
    found = shutil.which("initdb")
    folders = [*([Path(found).parent] if found else []), *reversed(FOLDERS)]
    return next((f for f in folders if all((f / p).exists() for p in ("initdb", "postgres"))), None)


def missing() -> str:
    """Why there is no server to be had; empty where there is one."""
    try:
        import psycopg  # noqa: F401
    except ImportError:
        return "psycopg is not installed: pip install 'drillrunner[postgresql]'"
    if NAMED:
        return ""
    if programs() is None:
        return "no PostgreSQL server is installed (Debian: postgresql)"
    return "" if _other_user() is not None else "a PostgreSQL server does not run as root"


def _other_user() -> dict[str, Any] | None:
    """As whom it runs: it never does as root."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        with suppress(KeyError):
            found = pwd.getpwnam(name)
            return {"user": found.pw_uid, "group": found.pw_gid, "extra_groups": []}
    return None


def _ends_with_its_parent() -> None:
    """A test run that is killed leaves no server behind, where Linux can see to that."""
    with suppress(Exception):
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGQUIT)


class Server:
    """A server with a folder of its own. sure: as a range would run it, power cuts and all."""

    def __init__(self, sure: bool = False) -> None:
        bin, user = programs(), _other_user()
        assert bin is not None
        assert user is not None
        self._bin, self._user = bin, user
        self._settings = () if sure else QUICK
        self.folder = Path(tempfile.mkdtemp(prefix="drillrunner-pg-"))
        self._process: subprocess.Popen[bytes] | None = None
        if user:
            os.chown(self.folder, user["user"], user["group"])
        words = ("initdb", "-D", "data", "-U", "test", "-A", "trust", "-E", "UTF8")
        self._run(*words, "--locale=C", "--no-sync")

    def _run(self, program: str, *words: str) -> None:
        done = subprocess.run(
            [self._bin / program, *words], cwd=self.folder, capture_output=True, **self._user
        )
        if done.returncode:
            raise RuntimeError(done.stderr.decode("utf-8", "replace"))

    @property
    def url(self) -> str:
        """A URL of the database that every server has. It listens in its own folder alone."""
        return f"postgresql+psycopg://test@/postgres?host={self.folder}"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        words = ["-D", "data", "-h", "", "-k", str(self.folder)]
        settings = [word for setting in self._settings for word in ("-c", setting)]
        self._process = subprocess.Popen(
            [self._bin / "postgres", *words, *settings],
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=(self.folder / "log").open("ab"),
            start_new_session=True,
            preexec_fn=_ends_with_its_parent,
            **self._user,
        )
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            with suppress(Exception):
                asked(self.url, "SELECT 1")
                return
            if self._process.poll() is not None:
                break
            time.sleep(0.05)
        raise RuntimeError((self.folder / "log").read_text("utf-8", "replace"))

    def stop(self, number: int = signal.SIGINT) -> None:
        """Stop it: at once and in good order, unless another signal is given."""
        if self._process is not None:
            self._process.send_signal(number)
            try:
                self._process.wait(PATIENCE)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
            self._process = None

    def remove(self) -> None:
        """Stop it, and remove all that it has."""
        self.stop(signal.SIGQUIT)
        shutil.rmtree(self.folder, ignore_errors=True)


def asked(url: str, sql: str) -> Sequence[tuple[Any, ...]]:
    """Run a statement by itself; its rows."""
    import psycopg

    with psycopg.connect(
        url.replace("+psycopg", ""), autocommit=True, connect_timeout=5
    ) as connection:
        cursor = connection.execute(sql)
        return cursor.fetchall() if cursor.description else []


@cache
def _running(config: pytest.Config) -> str:
    """The URL of this process's server: one, however many modules import the fixtures below."""
    if NAMED:
        return NAMED
    server = Server()
    config.add_cleanup(server.remove)
    server.start()
    return server.url


@cache
def _brought_up(config: pytest.Config) -> str:
    """A database that was opened once, for all tests up to one that fails; its URL."""
    made = ExitStack()
    config.add_cleanup(made.close)
    one = made.enter_context(database(_running(config)))
    Store.open(one).close()
    return one


@pytest.fixture(scope="session")
def server_url(request: pytest.FixtureRequest) -> str:
    """A server for this process's tests; skipped, with the reason, where there is none."""
    if why := missing():
        pytest.skip(why)
    return _running(request.config)


@pytest.fixture
def url(request: pytest.FixtureRequest, server_url: str) -> Iterator[str]:
    """A database on a server, in which nothing is yet."""
    one, failed = _brought_up(request.config), request.session.testsfailed
    _empty(one)
    yield one
    if request.session.testsfailed > failed:
        # What it left at work may connect again and go on: the next test has another database.
        _brought_up.cache_clear()


@pytest.fixture
def new_url(server_url: str) -> Iterator[str]:
    """A database on a server that nobody has opened yet: dearer than `url`."""
    with database(server_url) as one:
        yield one


def _empty(url: str) -> None:
    """Take every row out of a database, and every other connection to it."""
    rows = [f'DELETE FROM "{table.name}"' for table in reversed(metadata.sorted_tables)]
    asked(url, OTHERS)
    asked(url, "; ".join(rows))


@contextmanager
def database(url: str) -> Iterator[str]:
    """An empty database of the server of a URL, removed at the end; its URL."""
    name = f"drillrunner_{uuid.uuid4().hex[:12]}"
    asked(url, f'CREATE DATABASE "{name}" TEMPLATE template0')
    try:
        yield make_url(url).set(database=name).render_as_string(hide_password=False)
    finally:
        asked(url, f'DROP DATABASE "{name}" WITH (FORCE)')
