"""`python -m tests.benchmarks [PROGRAM...]`: run the benchmarks and print their ratios.

Every module beside this one that has a function `ratios()` is a program; it yields `Ratio`s.
"""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path

from tests.benchmarks.ratio import HEADINGS, line

PROGRAMS = sorted(
    path.stem
    for path in Path(__file__).parent.glob("*.py")
    if "\ndef ratios(" in path.read_text("utf-8")
)


def main(wanted: list[str]) -> int:
    """Run these programs, or all of them; 2 if one is unknown."""
    if unknown := set(wanted) - set(PROGRAMS):
        print(f"no program {', '.join(sorted(unknown))}: expected {', '.join(PROGRAMS)}")
        return 2
    print(HEADINGS, flush=True)
    for name in wanted or PROGRAMS:
        for ratio in import_module(f"tests.benchmarks.{name}").ratios():
            print(line(ratio), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
