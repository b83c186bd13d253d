"""What can be done on a screen, read from its bindings: one list for menu, palette and help."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.dom import DOMNode
    from textual.screen import Screen


@dataclass(frozen=True)
class Act:
    """Something that can be done: its name, what it does in a line, its keys, and where it acts."""

    name: str
    tip: str
    keys: tuple[str, ...]
    action: str
    enabled: bool
    node: DOMNode


def acts(screen: Screen[object]) -> tuple[Act, ...]:
    """Everything named (bound with an id) that can be done on a screen now, nearest first."""
    found: dict[tuple[int, str], Act] = {}
    for key, (node, binding, enabled, tooltip) in screen.active_bindings.items():
        if binding.id is None or not binding.description:
            continue
        shown = screen.app.get_key_display(binding) if binding.key_display is None else key
        known = found.get((id(node), binding.action))
        keys = (*known.keys, shown) if known else (binding.key_display or shown,)
        found[id(node), binding.action] = Act(
            binding.description, tooltip or "", keys, binding.action, enabled, node
        )
    return tuple(found.values())
