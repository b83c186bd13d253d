"""The few choices that outlive the app: an owner-only JSON file in the user's config folder."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from drillrunner.catalogue.files import write_whole


@dataclass(frozen=True)
class Preferences:
    """theme: a name in `themes.THEMES`, or `None` for the first. bell: `on`, or `None` for none.

    range: the id of the range profile that was played on last.
    """

    theme: str | None = None
    bell: str | None = None
    range: str | None = None


def path(config: Path) -> Path:
    """Where the file lies in the user's config folder."""
    return config / "app.json"


def load(config: Path) -> tuple[Preferences, str | None]:
    """The preferences, and one line if the file can't be used (then they are the plain ones)."""
    file = path(config)
    try:
        found = json.loads(file.read_text("utf-8"))
    except FileNotFoundError:
        return Preferences(), None
    except (OSError, ValueError) as error:
        return Preferences(), f"{file}: not read ({error}); the usual look is shown"
    known = {field.name for field in fields(Preferences)}
    if not isinstance(found, dict) or not all(
        isinstance(value, str | None) for key, value in found.items() if key in known
    ):
        return Preferences(), f"{file}: expected an object of texts; the usual look is shown"
    return Preferences(**{key: value for key, value in found.items() if key in known}), None


def save(config: Path, preferences: Preferences) -> str | None:
    """Write the file, whole or not at all; one line if it could not be written."""
    file = path(config)
    try:
        config.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(file, [json.dumps(asdict(preferences), indent=1)], over=True)
    except OSError as error:
        return f"{file}: not written ({error.strerror}); the choice lasts until you leave"
    return None
