"""What of a screen is painted anew: the cells that have changed, by the widgets that show them.

Textual paints everything between the first and the last change, down to the widgets that lie under
what is seen. A ball changes a number at the top and a line at the bottom: that is the whole screen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from textual._compositor import ChopsUpdate, Compositor
from textual.geometry import Region
from textual.strip import Strip


class Sparing(Compositor):
    """Asks a widget only for its lines with a change that no widget in front of it covers."""

    def __init__(self) -> None:
        super().__init__()
        self._changed: list[Region] = []

    def render_partial_update(self) -> ChopsUpdate | None:
        self._changed = list(self._dirty_regions)
        try:
            return super().render_partial_update()
        finally:
            self._changed = []

    def _get_renders(
        self, crop: Region | None = None
    ) -> Iterable[tuple[Region, Region, list[Strip]]]:
        return self._renders(self._changed) if self._changed else super()._get_renders(crop)

    def _renders(self, changed: list[Region]) -> Iterator[tuple[Region, Region, list[Strip]]]:
        for widget, (region, clip) in self.visible_widgets.items():
            seen = region.intersection(clip)
            parts = [part for part in changed if part.overlaps(seen)]
            if not parts:
                continue
            for top, bottom in _bands(parts, seen):
                part = Region(seen.x, top, seen.width, bottom - top)
                yield region, part, widget.render_lines(part.translate(-region.offset))
            changed = [part for part in changed if not seen.contains_region(part)]
            if not changed:
                return


def _bands(parts: list[Region], seen: Region) -> list[tuple[int, int]]:
    """The lines of what is seen on which these parts lie, as runs from a line up to another."""
    bands: list[tuple[int, int]] = []
    for top, bottom in sorted((max(p.y, seen.y), min(p.bottom, seen.bottom)) for p in parts):
        if bands and top <= bands[-1][1]:
            bands[-1] = bands[-1][0], max(bottom, bands[-1][1])
        else:
            bands.append((top, bottom))
    return bands
