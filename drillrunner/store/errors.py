"""What can go wrong with the store, each in one line: what, where, and a way out."""

from __future__ import annotations

DAMAGES = (ValueError, TypeError, KeyError, AttributeError, ArithmeticError, IndexError)
"""What reading a row raises that is not what this program writes."""


class StoreError(Exception):
    """The store could not do it; nothing was changed. The message is one line for the player."""


class DiskTrouble(StoreError):
    """The disk or the database could not do it for now: the same can be tried again as it is."""


class Busy(DiskTrouble):
    """Another program holds the database; it will let go."""


class Moved(DiskTrouble):
    """The file is another than the one that was opened, or has lost its log: no place to write."""


class Conflict(StoreError):
    """Something that must be there once only is there already."""


class PlayedElsewhere(StoreError):
    """Another terminal has played this run on; the entry was not taken."""


class BrokenGame(StoreError):
    """The game raised. A run that had begun has ended as broken, with its entries kept.

    file, line: where it raised. reason: the exception's type and message.
    """

    def __init__(self, file: str, line: int | None, reason: str, begun: bool = True) -> None:
        self.file = file
        self.line = line
        self.reason = reason
        where = file if line is None else f"{file}:{line}"
        so = "this run ended, its entries are kept" if begun else "it can't be played so"
        super().__init__(f"{where}: the game raised {reason}: {so}")
