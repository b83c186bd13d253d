"""The wheel, built, installed in a fresh environment outside the checkout, and used there."""

from __future__ import annotations

import ast
import email
import json
import os
import subprocess
import sys
import venv
import zipfile
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
import textual
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
BUNDLED = ("games", "demo_data")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("dist")
    build = [sys.executable, "-m", "build", "--wheel", "--outdir", str(out), str(ROOT)]
    subprocess.run(build, check=True, capture_output=True, text=True)
    (built,) = out.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def scripts(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the commands of an environment lie that holds the wheel, and sees what it needs.

    What it needs is not installed once more: `test_what_is_imported_is_required` holds that it
    would be.
    """
    home = tmp_path_factory.mktemp("fresh") / "env"
    venv.create(home, with_pip=False)
    inside = home / ("Scripts" if os.name == "nt" else "bin")
    install = [sys.executable, "-m", "pip", "--python", str(inside / "python"), "install"]
    subprocess.run([*install, "-q", "--no-deps", wheel], check=True, capture_output=True)
    (site,) = home.rglob("site-packages")
    (site / "needed.pth").write_text(str(Path(textual.__file__).parents[1]), "utf-8")
    return inside


def plain(home: Path | None = None) -> dict[str, str]:
    """An environment without this checkout, and with nobody's own files."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("DRILLRUNNER", "PYTHON"))}
    if home is not None:
        kept |= {"DRILLRUNNER_CONFIG": str(home / "config"), "DRILLRUNNER_DATA": str(home / "data")}
    return kept


def test_the_wheel_carries_the_package_the_games_and_the_demo(wheel: Path) -> None:
    carried = set(zipfile.ZipFile(wheel).namelist())
    listed = subprocess.run(
        ["git", "ls-files", "drillrunner", *BUNDLED], cwd=ROOT, capture_output=True, text=True
    ).stdout.split()
    if not listed:
        pytest.skip("the list of files is git's, and this is no git checkout")
    for name in listed:
        inside = f"drillrunner/bundled/{name}" if name.startswith(BUNDLED) else name
        if (ROOT / name).exists():
            assert inside in carried
    assert not [n for n in carried if n.startswith("tests") or n.endswith(".pyc")]


def test_what_is_imported_is_required(wheel: Path) -> None:
    (metadata,) = [n for n in zipfile.ZipFile(wheel).namelist() if n.endswith("METADATA")]
    told = email.message_from_bytes(zipfile.ZipFile(wheel).read(metadata))
    lines = [Requirement(line) for line in told.get_all("Requires-Dist") or ()]
    wanted = {canonicalize_name(one.name) for one in lines if "dev" not in str(one.marker)}
    sources = packages_distributions()
    used = {name for path in (ROOT / "drillrunner").rglob("*.py") for name in imported(path)}
    used -= sys.stdlib_module_names | {"drillrunner"}
    assert "textual" in used
    missing = [n for n in used if wanted.isdisjoint(map(canonicalize_name, sources.get(n, ())))]
    assert missing == []


def imported(path: Path) -> set[str]:
    """The top-level names of all modules that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.partition(".")[0])
    return found


def test_the_commands_work_outside_the_checkout(scripts: Path, tmp_path: Path) -> None:
    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [scripts / "drillrunner", *words]
        return subprocess.run(
            command, cwd=tmp_path, env=plain(tmp_path), capture_output=True, text=True
        )

    listing = run("drills", "--json")
    assert listing.returncode == 0, listing.stderr
    drills = json.loads(listing.stdout)
    assert drills["problems"] == []
    assert {"hold-the-corridor", "miss-total", "on-the-number"} <= {
        drill["id"] for drill in drills["drills"]
    }
    for drill in drills["drills"]:
        assert Path(drill["source"]).is_relative_to(scripts.parent)
        assert not Path(drill["source"]).is_relative_to(ROOT)

    scored = run("score", "miss-total", "-15", "+35", "0", "--json")
    assert scored.returncode == 0, scored.stderr
    assert json.loads(scored.stdout)["score"] == 50

    saved = run("score", "hold-the-corridor", "5", "4", "4", "4", "--save", "--player", "Ann")
    assert saved.returncode == 0, saved.stderr
    (best,) = json.loads(run("best", "--json").stdout)
    assert (best["player"], best["score"]) == ("Ann", 1)
    assert (tmp_path / "data").is_dir()
