"""The mappings of CSV columns that the player has made, kept for the next file like it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from pydantic import ValidationError

from drillrunner.catalogue.files import write_whole
from drillrunner.practice.carries.columns import ColumnMap


def file(config: Path) -> Path:
    """Where they lie: an owner-only file in the user's config folder."""
    return config / "columns.json"


def find(config: Path, heads: Sequence[str]) -> ColumnMap | None:
    """The mapping for a file of these heads; `None` if there is none, or it can't be read."""
    found = _all(config).get(_key(heads))
    try:
        return None if found is None else ColumnMap.model_validate(found)
    except ValidationError:
        return None


def keep(config: Path, heads: Sequence[str], mapping: ColumnMap) -> None:
    """Keep a mapping, whole or not at all. Raises OSError."""
    kept = {**_all(config), _key(heads): mapping.model_dump(mode="json", exclude_none=True)}
    config.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_whole(file(config), [json.dumps(kept, indent=1, sort_keys=True)], over=True)


def _key(heads: Sequence[str]) -> str:
    return json.dumps(list(heads))


def _all(config: Path) -> dict[str, object]:
    try:
        found = json.loads(file(config).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}
