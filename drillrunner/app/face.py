"""What the clock of a session shows, and how that is put into a line."""

from __future__ import annotations

from typing import NamedTuple

WIDE = 70
"""Columns from which the numbers say what they count."""


class Face(NamedTuple):
    """What the clock shows. clock, block_clock: `mm:ss` left, with a plus once it is over.

    balls, bucket: used and given, of the block and of the session. pace: seconds a ball, in
    words. mark: a shape before it all. notes: what is to be said in a second line, the longest
    first. loud: that line is a cue and not a quiet word.
    """

    clock: str
    block: str
    block_clock: str
    balls: tuple[int, int]
    bucket: tuple[int, int]
    pace: str = ""
    mark: str = ""
    notes: tuple[str, ...] = ()
    loud: bool = False

    def line(self, width: int) -> str:
        """The first line, to the edges of a width; the block's name gives way to the numbers."""
        (used, given), (out, whole) = self.balls, self.bucket
        left, after = f"{self.mark}{self.clock} · ", f" {self.block_clock}"
        if width < WIDE:
            right = f" {out}/{whole}"
        else:
            left = f"{self.mark}session {self.clock} · "
            here = f"block: balls {used} of {given} · " if given else ""
            right = f"  {self.pace}{here}bucket: {out} of {whole}"
        room = max(width - len(left) - len(after) - len(right), 0)
        name = self.block if len(self.block) <= room else f"{self.block[: max(room - 1, 0)]}…"
        return left + (name + after).ljust(width - len(left) - len(right)) + right

    def note(self, width: int) -> str:
        """The second line: the first wording that fits."""
        return next((note for note in self.notes if len(note) <= width), "".join(self.notes[-1:]))
