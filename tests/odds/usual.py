"""`python -m tests.odds.usual` works out what half of the model's golfers reach on each drill.

Run it when a bundled drill, its game or the starting guess has changed; it says what is another
now. Every drill is there in yards and in metres, as players have it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

from drillrunner.catalogue.drill import BadDrill, Drill, NeedsStock
from drillrunner.catalogue.loader import bundled, load
from drillrunner.odds.usual import FILE, worked_out


def drills() -> Iterator[Drill]:
    """Each bundled drill as written and in the other unit, without those at one's own carries."""
    for drill in load([bundled("games")]).drills:
        for unit in ("yd", "m"):
            try:
                fitted = drill.in_unit(unit)
                fitted.game()
            except (BadDrill, NeedsStock):
                continue
            yield fitted


def main() -> None:
    """Write the file."""
    before = json.loads(FILE.read_text("utf-8")) if FILE.exists() else {}
    found = {}
    for drill in drills():
        found[drill.fingerprint] = [drill.game_hash, str(worked_out(drill))]
        if before.get(drill.fingerprint) != found[drill.fingerprint]:
            print(f"{drill.id} in {drill.unit}: {found[drill.fingerprint][1]}")
    lines = ",\n".join(f'"{id}": {json.dumps(found[id])}' for id in sorted(found))
    FILE.write_text(f"{{\n{lines}\n}}\n", "utf-8")


if __name__ == "__main__":
    main()
