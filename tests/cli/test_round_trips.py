"""Rounds, index and needs through export and import, backup and restore, forget, and the report."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from drillrunner.services.demo import build
from tests.cli.run import Run

PLAYERS = ("Ines", "Tobi", "Mara")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("rounds") / "demo.db"
    build(path, date(2026, 5, 2))
    return path


def seen(run: Run, player: str, database: Path) -> list[Any]:
    """What the commands say of somebody's rounds."""
    whose = f"--json --player {player} --db {database}"
    return [run(f"{command} {whose}").json for command in ("rounds", "index", "needs")]


Way = Callable[[Run, Path, Path], Path]


def out_and_in(run: Run, database: Path, home: Path) -> Path:
    file, other = home / "out.json", home / "other.db"
    assert run(f"export --db {database} --out {file}").code == 0
    for _ in range(2):  # a second time adds nothing
        assert run(f"import {file} --db {other}").code == 0
    return other


def copied_and_back(run: Run, database: Path, home: Path) -> Path:
    copy, other = home / "copy.db", home / "back.db"
    assert run(f"backup --out {copy} --db {database}").code == 0
    assert run(f"restore {copy} --yes --db {other}").code == 0
    return other


@pytest.mark.parametrize("way", [out_and_in, copied_and_back])
def test_nothing_is_lost_or_doubled(run: Run, demo: Path, tmp_path: Path, way: Way) -> None:
    before = {player: seen(run, player, demo) for player in PLAYERS}
    assert [len(rounds) for rounds, _, _ in before.values()] == [11, 8, 5]
    assert all(index["index"] is not None for _, index, _ in before.values())
    other = way(run, demo, tmp_path)
    assert {player: seen(run, player, other) for player in PLAYERS} == before


def test_who_is_forgotten_takes_rounds_and_goal_along(run: Run, demo: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    assert run(f"backup --out {copy} --db {demo}").code == 0
    others = [seen(run, player, copy) for player in PLAYERS[1:]]
    assert run(f"forget Ines --yes --db {copy}").code == 0
    assert "no player 'Ines'" in run(f"rounds --player Ines --db {copy}").err
    assert [seen(run, player, copy) for player in PLAYERS[1:]] == others
    text = run(f"export --db {copy}").out
    assert "Ines" not in text


def test_the_page_for_a_coach_has_the_rounds_and_what_they_say(run: Run, demo: Path) -> None:
    (rounds, index, needs) = seen(run, "Mara", demo)
    page = run(f"report --player Mara --since 2026-04-24 --out - --db {demo}").out
    assert "<h2>Rounds</h2>" in page
    assert f"Index {index['index']}." in page
    (latest, *_) = rounds
    assert latest["date"] in page
    assert str(latest["score"]) in page
    assert max(needs, key=lambda need: need["lost"])["kind"] == "putting"
