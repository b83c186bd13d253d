"""What can be done on a screen, read from its bindings: one list for menu, palette and help."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from textual.dom import DOMNode
    from textual.screen import Screen

NAMES = {"escape": "Esc", "enter": "Enter", "up": "↑", "down": "↓", "left": "←", "right": "→"}
"""Keys that are called otherwise than Textual names them."""


class Act(NamedTuple):
    """Something that can be done: its name, what it does in a line, its keys, and where it acts.

    own: it belongs to the screen or the app, and not to a widget that has the keys now.
    """

    name: str
    tip: str
    keys: tuple[str, ...]
    action: str
    enabled: bool
    node: DOMNode
    own: bool


def acts(screen: Screen[Any]) -> tuple[Act, ...]:
    """Everything named (bound with an id) that can be done on a screen now, nearest first."""
    found: dict[str, Act] = {}
    for key, (node, binding, enabled, tooltip) in screen.active_bindings.items():
        if binding.id is None or not binding.description:
            continue
        name = binding.action.removeprefix("app.")
        shown = binding.key_display or NAMES.get(key, key)
        known = found.get(name)
        if known is None:
            own = node in (screen, screen.app)
            found[name] = Act(
                binding.description, tooltip, (shown,), binding.action, enabled, node, own
            )
        elif shown not in known.keys:
            found[name] = known._replace(keys=(*known.keys, shown))
    return tuple(found.values())
