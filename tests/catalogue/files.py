"""Drill and game files for tests, written into a folder of their own."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

from drillrunner.catalogue.fields import Problem
from drillrunner.catalogue.loader import Catalogue, bundled, load

DRILL = """\
id = "mine"
title = "Mine"
game = "lives"
club = "driver"

[aim]
width = 30

[settings]
lives = 2

[dial]
field = "aim.width"
from = 10
to = 60
step = 5
"""

GAME = '''\
"""Count the balls that hold."""

from dataclasses import dataclass

from drillrunner.rules import Field, Game, Settings, Shot


class CountSettings(Settings):
    balls: int = Field(3, ge=1, le=50)


@dataclass(frozen=True)
class CountState:
    balls: int = 0
    held: int = 0


class Count(Game[CountSettings, CountState]):
    id = "count"
    title = "Count"
    summary = "Balls that hold."
    asks = "verdict"
    better = "higher"
    Settings = CountSettings

    def start(self) -> CountState:
        return CountState()

    def after(self, state: CountState, shot: Shot) -> CountState:
        return CountState(state.balls + 1, state.held + self.aim.holds(shot))

    def over(self, state: CountState) -> bool:
        return state.balls == self.settings.balls

    def score(self, state: CountState) -> int:
        return state.held

    def ended(self, state: CountState) -> str | None:
        return "all balls played" if self.over(state) else None

    def readout(self, state: CountState) -> dict[str, int]:
        return {"held": state.held, "balls": state.balls}
'''


def write(folder: Path, name: str, content: str) -> Path:
    """Write a file and its folder."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / name
    file.write_text(dedent(content), encoding="utf-8")
    return file


def changed(old: str, new: str, content: str = DRILL) -> str:
    """The content with one part replaced, which must be there."""
    assert old in content
    return content.replace(old, new, 1)


def load_with(folder: Path) -> Catalogue:
    """The bundled games and drills with this folder after them."""
    return load([bundled("games"), folder])


def problems_of(content: str, folder: Path) -> list[tuple[int | None, str | None, str]]:
    """Line, field and reason of each problem of a drill file with this content."""
    file = write(folder, "mine.toml", content)
    found: list[Problem] = list(load_with(folder).problems)
    assert all(problem.file == str(file) for problem in found)
    return [(problem.line, problem.field, problem.reason) for problem in found]
