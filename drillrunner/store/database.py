"""The connection to the database: who may read it, how it is locked, and what can go wrong.

Everything that holds for SQLite alone is here, in `quick` and in `copies`.
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import (
    ClauseElement,
    Connection,
    Dialect,
    Engine,
    RootTransaction,
    event,
)
from sqlalchemy.engine import URL, make_url
from sqlalchemy.engine.interfaces import DBAPICursor
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.sql.compiler import SQLCompiler

from drillrunner.store import aside, server
from drillrunner.store.compiled import engine_of_file
from drillrunner.store.copies import PRIVATE
from drillrunner.store.errors import Busy, Conflict, DiskTrouble, Moved, StoreError
from drillrunner.store.looking import (
    ReadOnly,
    log_of,
    must_be_ours,
    refuse_what_is_no_file,
)
from drillrunner.store.own import cover, plays_with
from drillrunner.store.troubles import REASONS, code_of, first_said, kind_of, reason_of

WAIT = 3.0
"""Seconds to wait for another program that writes, before saying so."""

SHARED = 1 << 16
"""Bytes that must be free for the file beside a database that its programs share."""

ANEW = "start again, or have what was typed written to the file that is there now"

COPIED_OVER = "something else was copied over it"
CHECKED = 64 * 2**20
"""Bytes of a file that is checked whole where something else may have been copied over it."""

BAY = "drillrunner bay"
"""Under what a connection that is written by keeps the name of the bay."""

PARAMETER = re.compile(r":([a-z_]+)")

T = TypeVar("T")
Row = Sequence[Any]
Values = Mapping[str, Any]
EMPTY: Values = {}


class Prepared:
    """A statement that is compiled once for each kind of database, so that running it is cheap.

    It runs on the driver's own cursor: values go in and come out as the driver has them: text,
    whole numbers, booleans. statement: SQLAlchemy's, or a text with `:name` for a parameter.
    """

    def __init__(
        self, statement: ClauseElement | str, columns: Sequence[str] | None = None
    ) -> None:
        self._statement: ClauseElement | str = statement
        self._columns = columns
        self._compiled: dict[str, tuple[str, Values, Sequence[str] | None]] = {}

    def rows(self, connection: Connection, values: Values = EMPTY) -> Sequence[Row]:
        """Execute it with these values for its parameters; every row."""
        with closing(self._run(connection, values)) as cursor:
            found: Sequence[Row] = cursor.fetchall()
        return found

    def row(self, connection: Connection, values: Values = EMPTY) -> Row | None:
        """Execute it; the first row, if any."""
        return next(iter(self.rows(connection, values)), None)

    def value(self, connection: Connection, values: Values = EMPTY) -> Any:
        """Execute it; the first column of the first row, or `None`."""
        row = self.row(connection, values)
        return None if row is None else row[0]

    def do(self, connection: Connection, values: Values = EMPTY) -> None:
        """Execute it for what it does."""
        self._run(connection, values).close()

    def _run(self, connection: Connection, values: Values) -> DBAPICursor:
        name = connection.dialect.name
        if name not in self._compiled:
            self._compiled[name] = self._compile(connection.dialect)
        sql, own, order = self._compiled[name]
        given = {**own, **values}
        cursor = connection.connection.cursor()
        cursor.execute(sql, given if order is None else [given[name] for name in order])
        return cursor

    def _compile(self, dialect: Dialect) -> tuple[str, Values, Sequence[str] | None]:
        """The text, the values that it has already, and the order where it goes by position."""
        if isinstance(self._statement, str):
            named = dialect.name == "sqlite"
            text = self._statement if named else PARAMETER.sub(r"%(\1)s", self._statement)
            return text, {}, None
        compiled = self._statement.compile(dialect=dialect, column_keys=self._columns)
        order = compiled.positiontup if isinstance(compiled, SQLCompiler) else None
        return compiled.string, compiled.params, order


class Database:
    """One database, by path or URL. Raises StoreError where it can't be used.

    own: the name of a player: what is read is theirs (see `own`), and of nobody else.
    throwaway: nobody minds if it is lost with the power, so that nothing waits for the disk.
    looking: it may be one that can't be written, which is read then as it is.
    """

    def __init__(
        self,
        target: str | Path,
        wait: float = WAIT,
        throwaway: bool = False,
        looking: bool = False,
        own: str | None = None,
    ) -> None:
        self.wait = wait
        self.own = own
        self.bay: str | None = None
        """Where it is written from, for the visits that it is written in."""
        self.throwaway = throwaway
        self.path, self._url = _where(target)
        self._read_only: ReadOnly | None = None
        self._identity: tuple[int, int] | None = None
        self._seen = _NOTHING
        self._lock = threading.Lock()
        self._patience = threading.local()
        self._driver: Any = sqlite3
        self._writer: Connection | None = None
        self._readers: list[Connection] = []
        self._of_all: list[Connection] = []
        if self.path is not None:
            with self.told():
                self._look(self.path, looking)
        self._engine = self._connected()
        self._driver = self._engine.dialect.loaded_dbapi

    def _look(self, path: Path, looking: bool) -> None:
        """See whose file it is, make it if need be, and find out whether it can be written."""
        there = refuse_what_is_no_file(path)
        if there and _identity(path) not in _OPEN:
            must_be_ours(path)
        try:
            _prepare(path, there)
            if looking:
                with closing(sqlite3.connect(path, timeout=self.wait)) as connection:
                    connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except (OSError, sqlite3.OperationalError, DiskTrouble) as error:
            if not (looking and there) or code_of(error) in (
                sqlite3.SQLITE_BUSY,
                sqlite3.SQLITE_LOCKED,
            ):
                raise
            self._read_only = ReadOnly(path)
            self._url = URL.create("sqlite", database=self._read_only.uri, query={"uri": "true"})
            return
        self._identity = _identity(path)
        _OPEN[self._identity] += 1

    @property
    def name(self) -> str:
        """The database in a message; never a password."""
        return str(self.path) if self.path else self._url.render_as_string(hide_password=True)

    @property
    def can_write(self) -> bool:
        """Whether it was opened so that it can be written."""
        return self._read_only is None

    @property
    def read_only_uri(self) -> str | None:
        """How it is opened where it can't be written; `None` where it can."""
        return None if self._read_only is None else self._read_only.uri

    def close(self) -> None:
        """Let go of the file. Nothing needs saving: everything is on disk already."""
        with self._lock:
            if self._writer is not None:
                self._writer.close()
                self._writer = None
            for reader in (*self._readers, *self._of_all):
                reader.close()
            self._readers.clear()
            self._of_all.clear()
            self._engine.dispose()
            if self._read_only is not None:
                self._read_only.close()
            if self._identity is not None:
                _OPEN[self._identity] -= 1
                self._identity = None

    @contextmanager
    def patient(self, seconds: float) -> Iterator[None]:
        """Within it, this thread waits so long for another writer, in place of `wait`."""
        self._patience.seconds = seconds
        try:
            yield
        finally:
            del self._patience.seconds

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection for reading: one unchanging view, on any thread, that blocks nobody.

        It is kept for the next reader, unless something went wrong with it.
        """
        with self._read(self._readers, self.own) as connection:
            yield connection

    @contextmanager
    def reading_all(self) -> Iterator[Connection]:
        """As `reading`, with what belongs to others: only for what they agreed to show."""
        with self._read(self._readers if self.own is None else self._of_all, None) as connection:
            yield connection

    @contextmanager
    def reading_of(self, player: str) -> Iterator[Connection]:
        """As `reading`, with what is this player's (by id) if they play with `own` just now."""
        together = False
        if self.own is not None:
            with self.reading_all() as connection:
                together = plays_with(connection, self.own, player)
        with self.reading_all() if together else self.reading() as connection:
            yield connection

    @contextmanager
    def _read(self, kept: list[Connection], own: str | None) -> Iterator[Connection]:
        with self.told():
            if self.path is None:
                with server.transaction(self._engine, own) as connection:
                    yield connection
                return
            try:
                reader = kept.pop()
            except IndexError:
                reader = aside.in_thread(partial(self._opened, own))
            try:
                with reader.begin():
                    if aside.waits():
                        driver = reader.connection.driver_connection
                        self._patiently(partial(_view, driver), self.wait)
                        _waits(driver, self.wait)
                    yield reader
            except BaseException:
                reader.close()
                raise
            kept.append(reader)

    def _opened(self, own: str | None) -> Connection:
        reader = self._engine.connect()
        if own is not None:
            try:
                with reader.begin():
                    cover(reader, own)
            except BaseException:
                reader.close()
                raise
        return reader

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction: all on disk when the block ends, or nothing if it raises.

        The connection is kept for the next time, but no lock is held in between.
        """
        seconds = getattr(self._patience, "seconds", self.wait)
        self._patiently(self._hold, seconds)
        try:
            with self.told():
                if self._read_only is not None:
                    raise DiskTrouble(f"{self.name}: {REASONS[sqlite3.SQLITE_READONLY]}")
                if self.path is None:
                    with server.transaction(self._engine) as connection:
                        if seconds != self.wait:
                            limit = f"SET LOCAL lock_timeout = {round(seconds * 1000)}"
                            connection.exec_driver_sql(limit)
                        connection.info[BAY] = self.bay
                        yield connection.execution_options(drillrunner_writes=True)
                    return
                # What has to be looked into first takes its time, whoever holds the file.
                known = self._writer is not None and self._seen == _Seen.of(self.path)
                begin = self._patiently if known else _in_thread
                with _kept_aside(begin(self._begun, seconds)) as writer:
                    yield writer
                self._seen = _Seen.of(self.path)
        finally:
            self._lock.release()

    def _patiently(self, attempt: Callable[[float], T], seconds: float) -> T:
        """Try something that may have to wait for another; within an errand at once, and aside
        only where it has to wait. attempt: is given how long it may."""
        if not aside.waits():
            return attempt(seconds)
        try:
            return attempt(0)
        except (Busy, sqlite3.OperationalError) as error:
            if not isinstance(error, Busy) and kind_of(error) is not Busy:
                raise
        return _in_thread(attempt, seconds)

    def _hold(self, seconds: float) -> None:
        """Be the one that writes. Raises Busy."""
        if not self._lock.acquire(timeout=seconds):
            raise Busy(f"{self.name}: {REASONS[sqlite3.SQLITE_BUSY]}")

    def _begun(self, seconds: float) -> RootTransaction:
        """A transaction that writes to the file."""
        self._still_there()
        if self._writer is None:
            self._writer = self._engine.connect().execution_options(drillrunner_writes=True)
        _waits(self._writer.connection.driver_connection, seconds)
        self._writer.info[BAY] = self.bay
        return self._writer.begin()

    @contextmanager
    def migrating(self) -> Iterator[Connection]:
        """As `writing`, and alone: for changing the schema. Foreign keys are checked at the end."""
        with self.told(), self._engine.connect() as connection:
            connection = connection.execution_options(drillrunner_writes=True)
            if self.path is None:
                with connection.begin():
                    server.without_limit(connection)
                    connection.exec_driver_sql("SELECT pg_advisory_xact_lock(3127)")
                    yield connection
                return
            driver = connection.connection.driver_connection
            assert isinstance(driver, sqlite3.Connection)
            driver.execute("PRAGMA foreign_keys = OFF")
            try:
                with connection.begin():
                    yield connection
                    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
                    if broken is not None:
                        raise StoreError(f"{self.name}: row {broken[1]} of {broken[0]} hangs loose")
            finally:
                driver.execute("PRAGMA foreign_keys = ON")

    def _connected(self) -> Engine:
        if self.path is not None:
            engine = engine_of_file(self._url, self.wait)
            event.listen(engine, "connect", self._set_up)
            event.listen(engine, "begin", _begin)
            return engine
        try:
            return server.engine(self._url)
        except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
            raise StoreError(
                f"{self.name}: expected a path, or a postgresql+psycopg:// URL with its driver "
                f"installed (drillrunner[postgresql]): {first_said(error)}"
            ) from None

    def _set_up(self, driver: sqlite3.Connection, _record: object) -> None:
        if self._read_only is not None:
            driver.execute("PRAGMA query_only = ON")
            return
        driver.execute(f"PRAGMA synchronous = {'OFF' if self.throwaway else 'FULL'}")
        _to_wal(driver, self.wait)
        driver.execute("PRAGMA foreign_keys = ON")

    def _still_there(self) -> None:
        """A file that was moved or replaced would take what is typed with it, unseen."""
        if self.path is None:
            return
        now, before = _Seen.of(self.path), self._seen
        if now.file != self._identity:
            raise Moved(f"{self.name}: the file was moved or replaced: {ANEW}")
        if before.log is not None and now.log != before.log:
            raise Moved(f"{self.name}: its log {log_of(self.path).name} is gone: {ANEW}")
        if before.written is not None and now.written != before.written:
            # Another program has written, or put something else in its place: look afresh.
            try:
                self._look_afresh()
            except DBAPIError as error:
                if code_of(error.orig) not in (
                    sqlite3.SQLITE_IOERR,
                    sqlite3.SQLITE_CORRUPT,
                    sqlite3.SQLITE_NOTADB,
                ):
                    raise
                raise Moved(f"{self.name}: {COPIED_OVER}: {ANEW}") from error

    def _look_afresh(self) -> None:
        """Forget what was read before, keeping a connection, or SQLite would tidy the log up."""
        old, self._writer = self._writer, None
        readers = [*self._readers, *self._of_all]
        self._readers, self._of_all = [], []
        self._writer = self._engine.connect().execution_options(drillrunner_writes=True)
        small = self.path is not None and self.path.stat().st_size <= CHECKED
        look = "PRAGMA quick_check(1)" if small else "SELECT 'ok' FROM sqlite_master"
        sound = self._writer.exec_driver_sql(look).scalar() == "ok"
        self._writer.rollback()
        for connection in (old, *readers):
            if connection is not None:
                connection.invalidate()
                connection.close()
        if not sound:
            raise Moved(f"{self.name}: {COPIED_OVER}: {ANEW}")

    def reopen(self) -> None:
        """Go on with whatever file lies there now, or a new one, after it was `Moved`."""
        assert self.path is not None
        before, own = self._seen, self._identity
        self.close()
        self._seen = _NOTHING
        with self.told():
            now = _Seen.of(self.path)
            if now.file != own and now.log is not None and now.log == before.log:
                # It belongs to the file that went, which has all of it by now, and would be read
                # as if it belonged to the one that came.
                log = log_of(self.path)
                log.replace(log.with_name(f"{log.name}-left-behind"))
                self.path.with_name(f"{self.path.name}-shm").unlink(missing_ok=True)
            self._look(self.path, False)
        self._engine = self._connected()

    @contextmanager
    def told(self) -> Iterator[None]:
        """Turn what the database or the disk says into one line."""
        try:
            yield
        except PoolTimeout as error:
            raise Busy(f"{self.name}: {REASONS[sqlite3.SQLITE_BUSY]}") from error
        except (DBAPIError, self._driver.Error, sqlite3.Error, OSError) as error:
            said = error.orig if isinstance(error, DBAPIError) else error
            if isinstance(said, self._driver.IntegrityError) and "unique" in str(said).lower():
                raise Conflict(f"{self.name}: it is there already: {first_said(said)}") from error
            reason = reason_of(said)
            if code_of(said) == sqlite3.SQLITE_IOERR and self._no_room():
                # Its memory shared between programs had no room: SQLite calls that no full disk.
                reason = REASONS[sqlite3.SQLITE_FULL]
            raise kind_of(said)(f"{self.name}: {reason}") from error

    def _no_room(self) -> bool:
        """Whether the disk has no room left for what a program shares with others of a file."""
        if self.path is None:
            return False
        with suppress(OSError):
            return shutil.disk_usage(self.path.parent).free < SHARED
        return False


def _where(target: str | Path) -> tuple[Path | None, URL]:
    if "://" in str(target):
        try:
            url = make_url(str(target))
        except (ArgumentError, ValueError):
            raise StoreError(f"{target}: expected a path or a database URL") from None
        if not url.drivername.startswith("sqlite"):
            return None, url
        target = url.database or ""
    if not str(target) or str(target) == ":memory:":
        raise StoreError("expected a file: a database in memory would lose what is typed")
    path = Path(target).expanduser().absolute()
    return path, URL.create("sqlite", database=str(path))


def _prepare(path: Path, there: bool) -> None:
    """Make the folder and the file if need be, and see that they are the owner's alone.

    An existing file is not opened here: closing it would let go of this process's locks on it.
    """
    if not there:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, PRIVATE))
        except FileExistsError:
            return
    elif not os.access(
        path, os.R_OK | os.W_OK, effective_ids=os.access in os.supports_effective_ids
    ):
        raise DiskTrouble(f"{path}: {REASONS[sqlite3.SQLITE_READONLY]}")
    for file in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm"))):
        try:
            if file.stat().st_mode & 0o077:
                file.chmod(PRIVATE)
        except (FileNotFoundError, PermissionError):
            continue


_OPEN: Counter[tuple[int, int]] = Counter()
"""Files that this process has open, by device and number: they are ours."""


def _identity(path: Path) -> tuple[int, int]:
    found = path.stat()
    return found.st_dev, found.st_ino


class _Seen(NamedTuple):
    """What a file and its log looked like: whether they are the same, and when it was written."""

    file: tuple[int, int] | None
    log: tuple[int, int] | None
    written: tuple[int, int] | None

    @classmethod
    def of(cls, path: Path | None) -> _Seen:
        """As it is now; nothing for what is not there."""
        if path is None:
            return _NOTHING
        found: list[tuple[int, int] | None] = []
        written = None
        for file in (path, log_of(path)):
            try:
                now = os.stat(file)
            except FileNotFoundError:
                found.append(None)
                continue
            found.append((now.st_dev, now.st_ino))
            if file is path:
                written = (now.st_size, now.st_mtime_ns)
        return cls(found[0], found[1], written)


_NOTHING = _Seen(None, None, None)


def _in_thread(attempt: Callable[[float], T], seconds: float) -> T:
    return aside.in_thread(partial(attempt, seconds))


def _waits(driver: object, seconds: float) -> None:
    """How long a connection waits for another program."""
    assert isinstance(driver, sqlite3.Connection)
    driver.execute(f"PRAGMA busy_timeout = {round(seconds * 1000)}")


def _view(driver: object, seconds: float) -> None:
    """Take the view of a transaction that reads: what is read in it has to wait no more."""
    assert isinstance(driver, sqlite3.Connection)
    _waits(driver, seconds)
    driver.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()


@contextmanager
def _kept_aside(transaction: RootTransaction) -> Iterator[Connection]:
    """As the transaction itself; the disk is waited for aside."""
    with ExitStack() as undone:
        undone.enter_context(transaction)
        yield transaction.connection
        # Where nobody wants it any more, it is not kept, and it is undone here.
        aside.in_thread(lambda: undone.pop_all().close())


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("drillrunner_writes")
    connection.connection.cursor().execute("BEGIN IMMEDIATE" if writes else "BEGIN")


def _to_wal(driver: sqlite3.Connection, wait: float) -> None:
    """Write ahead to a log. Two programs that do so at once don't wait for each other in SQLite."""
    until = time.monotonic() + wait
    while True:
        try:
            driver.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if code_of(error) != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.01)
