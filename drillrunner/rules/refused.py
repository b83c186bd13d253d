"""What can be wrong with what was typed: apart, as the rest of the rules takes long to import."""

from __future__ import annotations

LOST_INSTEAD = "type where you saw it last (-40), or leave it out and hit another"
"""What to do for a lost ball where none has a number of its own."""


class Refused(ValueError):
    """An entry that can't be taken; the message is one line for the player."""
