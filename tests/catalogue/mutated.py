"""Mutated drill files: `python -m tests.catalogue.mutated [HOW MANY]`, 2,500 unless said.

Each is a drill or has problems, at most so many, each in one line; nothing else may come of it.
"""

from __future__ import annotations

import random
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from drillrunner.catalogue.loader import bundled, load_files
from drillrunner.catalogue.reading import MOST_PROBLEMS

SOURCES = [file.read_bytes() for file in sorted(bundled("games").glob("*.toml"))]
GAMES = sorted(bundled("games").glob("*.py"))
PARTS = [
    *(b"nan", b"-inf", b"1e999", b"-1", b"0", b"true", b"1979-05-27", b"0x" + b"f" * 300),
    *(b"[", b"]", b"{}", b"[[x]]", b"'''", b'"""', b'""', b"\xff", b"\0", b"\r", b"#", b"="),
    *(b'"stock"', b"carry = ", b"[aim]\n", b"[dial]\n", b"unit = 'm'\n", b"9" * 40, b"1.005"),
    *(b"a." * 3000 + b"a = 1", b"[" * 400, b"[[x]]\n" * 400, b"a = {" * 30, b"x = 1\n" * 90),
    *('"é\u202e"'.encode(), b"[settings]\n", b'"\\u0000"', b"{ a = [1, {b = 2}] }", b"id"),
]


def mutated(rng: random.Random) -> bytes:
    """A bundled file with one to four changes, some of bytes, some of whole values or lines."""
    content = rng.choice(SOURCES)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(content) + 1)
        lines = content.split(b"\n")
        line = rng.randrange(len(lines))
        match rng.randrange(6):
            case 0:
                content = content[:at] + rng.randbytes(rng.randint(1, 3)) + content[at:]
            case 1:
                content = content[:at] + content[at + rng.randint(1, 20) :]
            case 2:
                content = content[:at] + rng.choice(PARTS) + content[at:]
            case 3:
                name, _, _ = lines[line].partition(b"=")
                content = b"\n".join(
                    [*lines[:line], name + b"= " + rng.choice(PARTS), *lines[line + 1 :]]
                )
            case 4:
                content = b"\n".join([*lines[:line], *lines[line + 1 :]])
            case _:
                other = rng.choice(SOURCES).split(b"\n")
                content = b"\n".join([*lines[:line], rng.choice(other), *lines[line:]])
    return content


def tried(folder: Path, count: int, seed: int = 20) -> tuple[int, int, float]:
    """Write and read so many, a hundred at a time: drills, files with problems, slowest hundred."""
    rng = random.Random(seed)
    drills = problems = 0
    slowest = 0.0
    for batch in range(0, count, 100):
        files = []
        for number in range(batch, min(batch + 100, count)):
            file = folder / f"{number}.toml"
            file.write_bytes(mutated(rng))
            files.append(file)
        began = time.process_time()
        found = load_files([*GAMES, *files])
        slowest = max(slowest, time.process_time() - began)
        named = {problem.file for problem in found.problems}
        used = {drill.source for drill in found.drills}
        assert named.isdisjoint(used)
        assert named | used == {str(file) for file in files}
        for file in files:
            own = [problem for problem in found.problems if problem.file == str(file)]
            assert len(own) <= MOST_PROBLEMS + 1
            lines = file.read_bytes().count(b"\n") + 1
            for problem in own:
                assert "\n" not in str(problem)
                assert problem.reason
                assert problem.line is None or 1 <= problem.line <= lines
        for drill in found.drills:
            drill.in_unit("m").in_unit("yd")
            assert len(drill.fingerprint) == 64
        drills += len(used)
        problems += len(named)
    return drills, problems, slowest


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 2500
    with TemporaryDirectory() as name:
        used, faulty, longest = tried(Path(name), many)
    print(f"{many} files: {used} drills, {faulty} with problems, no traceback")
    print(f"the slowest hundred took {longest:.2f} s of the processor")
