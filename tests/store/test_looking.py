"""A file is looked at before it is touched; what can't be written can be read all the same."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import stat
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest

from drillrunner.store import backup
from drillrunner.store.errors import DiskTrouble, StoreError
from drillrunner.store.store import Store
from tests.store.conftest import entry

NOBODY = 65534


def all_of(folder: Path) -> dict[str, object]:
    """Everything in a folder that could have been changed."""
    return {
        file.name: (
            file.stat().st_mode,
            file.stat().st_mtime_ns,
            hashlib.sha256(file.read_bytes()).hexdigest() if file.is_file() else None,
        )
        for file in sorted(folder.iterdir())
    }


def somebody_elses(path: Path, journal: str = "delete") -> None:
    with closing(sqlite3.connect(path)) as other:
        other.execute(f"PRAGMA journal_mode = {journal}")
        other.execute("CREATE TABLE bookmark (url)")
        other.commit()


@pytest.mark.parametrize(
    "kind", ["text", "delete", "wal", "pipe", "folder", "link", "device", "tables of another"]
)
def test_what_is_not_ours_is_refused_untouched(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "theirs"
    folder.mkdir()
    file = folder / "file.db"
    if kind == "text":
        file.write_text("dear diary " * 999)
    elif kind in ("delete", "wal"):
        somebody_elses(file, kind)
    elif kind == "pipe":
        os.mkfifo(file)
    elif kind == "folder":
        file.mkdir()
    elif kind == "link":
        file.symlink_to(folder / "nowhere")
    elif kind == "device":
        file = Path(os.devnull)
    else:
        with closing(sqlite3.connect(file)) as other:
            other.execute("CREATE TABLE alembic_version (version_num)")
            other.execute("INSERT INTO alembic_version VALUES ('0001')")
            other.commit()
    if file.is_file():
        file.chmod(0o644)
    before = all_of(folder) if kind != "link" else None
    for looking in (False, True):
        with pytest.raises(StoreError) as refused:
            Store.open(file, looking=looking)
        assert "\n" not in str(refused.value)
        assert "expected a file" in str(refused.value) or "--db" in str(refused.value)
    if before is not None:
        assert all_of(folder) == before
    assert not (folder / "nowhere").exists()


@pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="no such folder here")
def test_what_belongs_to_the_system_is_refused() -> None:
    for name in ("/proc/self/environ", "/proc/version", "/dev/zero"):
        with pytest.raises(StoreError, match="expected a file"):
            Store.open(name)


def test_an_empty_file_of_ones_own_becomes_a_database(path: Path) -> None:
    path.parent.mkdir()
    path.touch(0o644)
    with Store.open(path) as store:
        store.add_player("Ines")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_one_that_lies_in_its_log_only_is_known(path: Path) -> None:
    """As after a kill: nothing but the log holds the tables."""
    script = (
        "import os, sys; from drillrunner.store.store import Store;"
        "Store.open(sys.argv[1]).add_player('Ines'); os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", script, str(path)], check=True)
    with Store.open(path) as store:
        assert [player.name for player in store.players()] == ["Ines"]


@pytest.fixture
def kept(path: Path, clock, catalogue) -> Path:
    with Store.open(path, clock) as store:
        playing = store.begin(store.add_player("Ines").id, catalogue.drill("hold-the-corridor"))
        for word in ("5", "4", "4", "4"):
            playing.append(entry(word, playing.run.game.ask))
    return path


def as_nobody(*paths: Path) -> list[str]:
    """What a person who may only read gets to see, in a process of their own."""
    script = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from drillrunner.store.store import Store\n"
        "from drillrunner.store import exchange\n"
        "from drillrunner.store.errors import StoreError\n"
        "os.getuid() or os.setuid(65534)\n"
        "for path in sys.argv[1:]:\n"
        "    store = Store.open(path, looking=True)\n"
        "    print(*(player.name for player in store.players()))\n"
        "    print([run.score for run in store.history()], len(store.bests()))\n"
        "    print(len(''.join(exchange.write(store.database))) > 999)\n"
        "    try:\n        store.add_player('Tobi')\n"
        '    except StoreError as error:\n        print("can\'t be written" in str(error))\n'
    )
    done = subprocess.run(
        [sys.executable, "-c", script, *map(str, paths)], capture_output=True, text=True, cwd=os.sep
    )
    return [*done.stdout.splitlines(), *done.stderr.splitlines()[-1:]]


READ = ["[Decimal('1')] 1", "True", "True"]


@pytest.mark.skipif(sys.platform == "win32", reason="no such modes there")
def test_what_can_not_be_written_is_read_as_it_is(kept, tmp_path) -> None:
    """With nothing in its log, and with some of it there."""
    top = Path(tempfile.gettempdir()) if os.getuid() == 0 else tmp_path
    top = Path(os.path.realpath(top)) / f"drillrunner-test-{os.getpid()}"
    folders = [top / "no-log", top / "log"]
    for folder in folders:
        folder.mkdir(parents=True)
    try:
        plain, logged = copies = [folder / "drillrunner.db" for folder in folders]
        plain.write_bytes(kept.read_bytes())
        with Store.open(kept) as store:
            store.add_player("Mara")
            for end in ("", "-wal"):
                Path(f"{logged}{end}").write_bytes(Path(f"{kept}{end}").read_bytes())
        for folder in folders:
            for file in folder.iterdir():
                file.chmod(0o444)
            folder.chmod(0o555)
        before = [all_of(folder) for folder in folders]
        assert as_nobody(*copies) == ["Ines", *READ, "Ines Mara", *READ]
        assert [all_of(folder) for folder in folders] == before
    finally:
        for folder in folders:
            folder.chmod(0o755)
        shutil.rmtree(top)


def test_a_read_only_one_is_copied_and_refuses_to_be_written(kept, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    with Store.open(kept, looking=True) as store:
        assert len(store.history()) == 1
        with pytest.raises(DiskTrouble, match="can't be written"):
            store.add_player("Tobi")
        made = backup.backup(store.database, tmp_path / "copy.db", "now")
        assert made.holds["entries"] == 4
    with pytest.raises(StoreError, match="can't be written"):
        Store.open(kept)
