"""A thousand and more mutated drill files: a drill or problems, and never a traceback."""

from __future__ import annotations

import random
from pathlib import Path

from drillrunner.catalogue.loader import bundled, load, load_files

SOURCES = [file.read_bytes() for file in sorted(bundled("games").glob("*.toml"))]
GAMES = sorted(bundled("games").glob("*.py"))
PARTS = [
    *(b"nan", b"-inf", b"1e999", b"-1", b"0", b"true", b"1979-05-27", b"0x" + b"f" * 300),
    *(b"[", b"]", b"{}", b"[[x]]", b"'''", b'"""', b'""', b"\xff", b"\0", b"\r", b"#", b"="),
    *(b'"stock"', b"carry = ", b"[aim]\n", b"[dial]\n", b"unit = 'm'\n", b"9" * 40, b"1.005"),
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


def test_mutated_drill_files(tmp_path: Path) -> None:
    rng = random.Random(20)
    whole = load([bundled("games")])
    drills = problems = 0
    for batch in range(20):
        files = []
        for number in range(100):
            file = tmp_path / f"{batch}-{number}.toml"
            file.write_bytes(mutated(rng))
            files.append(file)
        found = load_files([*GAMES, *files])
        named = {problem.file for problem in found.problems}
        used = {drill.source for drill in found.drills}
        assert named.isdisjoint(used)
        assert named | used == {str(file) for file in files}
        for problem in found.problems:
            assert "\n" not in str(problem)
            assert problem.reason
            lines = Path(problem.file).read_bytes().count(b"\n") + 1
            assert problem.line is None or 1 <= problem.line <= lines
        for drill in found.drills:
            drill.in_unit("m").in_unit("yd")
            assert len(drill.fingerprint) == 64
        drills += len(used)
        problems += len(named)
    assert drills + problems == 2000
    # Neither all broken nor all whole, or the mutations would test little.
    assert drills > 50
    assert problems > 500
    assert load([bundled("games")]) == whole
