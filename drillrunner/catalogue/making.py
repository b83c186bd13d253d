"""A drill of one's own from another one: checked by the rules of a file, written as one.

Own drills lie in the user's plugin folder. What is changed or taken away is moved aside, into the
folder `aside` in it, which nobody reads.
"""

from __future__ import annotations

import copy
import os
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import tomli_w

from drillrunner.catalogue import places
from drillrunner.catalogue.drill import Drill, build
from drillrunner.catalogue.errors import BadDrill
from drillrunner.catalogue.fields import LONGEST_ID, Faulty, Problem, id_for
from drillrunner.catalogue.files import write_whole
from drillrunner.catalogue.loader import Catalogue
from drillrunner.catalogue.settable import put, value_of

ASIDE = "aside"

AROUND = (
    *("about", "takes.balls", "takes.minutes"),
    *("dial.field", "dial.from", "dial.to", "dial.step"),
)
"""Fields of a file that say nothing of how it is played, and can be set where a file is written."""


class NotYours(ValueError):
    """A drill that can't be made, changed or taken away by that name; one line."""


def free_id(title: str, catalogue: Catalogue) -> str:
    """An id for a title that no drill of the catalogue has."""
    taken = {drill.id for drill in catalogue.drills} | set(catalogue.broken)
    wanted = id_for(title)
    numbered = (f"{wanted[: LONGEST_ID - 4]}-{n}" for n in range(2, 1000))
    return next(id for id in (wanted, *numbered) if id not in taken)


def drill_file(id: str) -> Path:
    """Where an own drill of that id lies."""
    return places.games_dir() / f"{id}.toml"


def made(base: Drill, id: str, title: str | None = None, sets: Sequence[str] = ()) -> Drill:
    """The drill that `base` becomes, not written yet. Raises BadDrill with every fault.

    sets: `FIELD=VALUE`, as for `--set`, or of `AROUND`; what the dial can't reach leaves the drill
    without one.
    """
    around = [text for text in sets if text.partition("=")[0].strip() in AROUND]
    changed = base.with_set([text for text in sets if text not in around])
    document = copy.deepcopy(dict(changed.document))
    document = {"id": id, "title": title or base.title, **_without(document, "id", "title")}
    for text in around:
        name, _, typed = text.partition("=")
        path = tuple(name.strip().split("."))
        put(document, path, (typed or None) if name.strip() == "about" else value_of(typed, path))
    return from_document(changed, document)


def from_document(base: Drill, document: Mapping[str, Any]) -> Drill:
    """The drill of a document, with the game of `base`. Raises BadDrill with every fault."""
    where = str(drill_file(str(document.get("id", ""))))
    try:
        return build(document, lambda _: (base.game_class, base.game_hash), base.known_clubs, where)
    except Faulty as error:
        raise BadDrill(
            Problem(where, None, ".".join(path) or None, reason) for path, reason in error.faults
        ) from None


def refuse_taken(catalogue: Catalogue, id: str) -> None:
    """Raise NotYours if a drill of that id stands already, or a file of its name."""
    found = next((drill for drill in catalogue.drills if drill.id == id), None)
    if found is not None or os.path.lexists(drill_file(id)):
        where = drill_file(id) if found is None else found.source
        raise NotYours(f"{id}: there is a drill of that id already ({where}): choose another id")


def own(catalogue: Catalogue, id: str) -> Drill:
    """The own drill of that id. Raises UnknownDrill; NotYours for one that came from elsewhere."""
    drill = catalogue.drill(id)
    if not drill.own:
        raise NotYours(
            f"{id}: it lies in {Path(drill.source).parent}, not in your own folder: "
            f"make one of your own with --from {id}"
        )
    return drill


def write(drill: Drill, now: datetime) -> Path:
    """Write an own drill, whole or not at all; one that it replaces is moved aside.

    Raises OSError.
    """
    file = drill_file(drill.id)
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    text = tomli_w.dumps(dict(drill.document))
    old = Path(drill.source) if drill.own and os.path.lexists(drill.source) else file
    if os.path.lexists(old):
        set_aside(old, now)
    write_whole(file, [text])
    return file


def set_aside(file: Path, now: datetime) -> Path:
    """Move a file of the own folder aside, where it is kept and not read. Raises OSError."""
    folder = file.parent / ASIDE
    folder.mkdir(exist_ok=True, mode=0o700)
    stem = f"{file.stem}-{now:%Y%m%d-%H%M%S}"
    names = (folder / f"{stem}{'' if n == 1 else f'-{n}'}.toml" for n in range(1, 1000))
    target = next(name for name in names if not os.path.lexists(name))
    os.replace(file, target)
    return target


def _without(document: Mapping[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in document.items() if name not in names}
