"""`python -m drillrunner.odds.strokes.make` solves all levels anew and writes the tables.

Takes about eight minutes of one core. The tables of what practice is worth hold the exact
differences between two solutions, over the eighteen holes of a test course.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from drillrunner.catalogue.strokes import table
from drillrunner.catalogue.strokes.golfer import LIES, Golfer
from drillrunner.catalogue.strokes.rating import Sex, ability
from drillrunner.catalogue.strokes.table import CHANGES, GREEN, INDICES, SHOTS
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.solver import Solved, solve

_HOLES = (
    *(140, 160, 175, 190),
    *(320, 345, 360, 370, 380, 390, 400, 410, 420, 435),
    *(460, 475, 485, 490),
)
COURSE_YARDS: dict[Sex, float] = {"men": 6400.0, "women": 5400.0}

BETTER: dict[str, dict[str, Any]] = {
    "driver-narrower": {"driver_width": 0.9},
    "driver-longer": {"driver_longer": 10.0},
    "approach-tighter": {"approach": 0.9},
    "wedge-distance": {"wedge_depth": 0.9},
    "short-tighter": {"short": 0.9},
    "putting-tighter": {"putting": 0.95},
    "fewer-bad-shots": {"bad": 0.9},
}
"""What each change means to the golfer: 10 % (putting 5 %), or 10 yards."""


def holes(sex: Sex = "men") -> tuple[float, ...]:
    """The test course, par 72: its eighteen lengths, scaled to the total."""
    scale = COURSE_YARDS[sex] / sum(_HOLES)
    return tuple(yards * scale for yards in _HOLES)


def course(solved: Solved, sex: Sex = "men") -> float:
    """Expected strokes for the test course."""
    return sum(solved.of(yards, "tee") for yards in holes(sex))


def lines(index: int, solved: Solved) -> Iterator[str]:
    """The lines that the table keeps of one index."""
    for row, lie in zip(solved.shots, LIES, strict=True):
        yield _line(index, lie, row)
    for row, lie in zip(solved.misses, LIES, strict=True):
        yield _line(index, f"missed-{lie}", row)
    yield _line(index, "green", solved.putts)


def _line(index: int, name: str, row: Floats) -> str:
    return ",".join([str(index), name, *(str(round(1000 * float(x))) for x in row)])


def gain(index: int, sex: Sex, change: str, solved: Solved) -> float:
    """Strokes a round that a change is worth: the difference of two solutions."""
    better = solve(replace(Golfer(ability(index, sex), sex), **BETTER[change]))
    return course(solved, sex) - course(better, sex)


def main() -> None:
    folder = Path(table.__file__).parent
    for sex in COURSE_YARDS:
        kept: list[str] = []
        worths: dict[str, list[str]] = {change: [] for change in CHANGES}
        for index in INDICES:
            solved = solve(Golfer(ability(index, sex), sex))
            assert (len(SHOTS), len(GREEN)) == (solved.shots.shape[1], len(solved.putts))
            kept += lines(index, solved)
            for change, row in worths.items():
                row.append(str(round(1000 * gain(index, sex, change, solved))))
        rows = [",".join([change, *row]) for change, row in worths.items()]
        (folder / f"{sex}.csv").write_text("\n".join(kept) + "\n", "ascii")
        (folder / f"{sex}_worth.csv").write_text("\n".join(rows) + "\n", "ascii")


if __name__ == "__main__":
    main()
