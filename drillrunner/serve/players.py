"""The players as the server asks for them, in the same database as the apps."""

from __future__ import annotations

from collections.abc import Sequence

from drillrunner.serve.pins import bad_pin, hashed, is_pin
from drillrunner.store.errors import Conflict, StoreError
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store


class NotHad(Exception):
    """A player can't be had; one line says why. wrong: a PIN was wrong, which is counted."""

    def __init__(self, why: str, wrong: bool = False) -> None:
        super().__init__(why)
        self.wrong = wrong


class Players:
    """private: nobody is listed, and nobody without a PIN is had."""

    def __init__(self, store: Store, private: bool) -> None:
        self._store = store
        self.private = private

    def listed(self) -> Sequence[tuple[PlayerInfo, bool]]:
        """Who may be chosen from a list, and whether each has a PIN. Raises StoreError."""
        if self.private:
            return ()
        return [(p, self._store.phones.pin_of(p.id) is not None) for p in self._store.players()]

    def name_of(self, id: str) -> str | None:
        """The name of a player; `None` where there is none any more. Raises StoreError."""
        return self._store.phones.name_of(id)

    def had(self, name: str, pin: str) -> PlayerInfo:
        """An existing player, for a phone whose holder knows the PIN. Raises NotHad, StoreError.

        Where nobody is listed nothing tells an unknown name from a wrong PIN.
        """
        player = self._store.player(name) if name.strip() else None
        kept = None if player is None else self._store.phones.pin_of(player.id)
        if player is not None and kept is None and not self.private:
            return player
        right = is_pin(pin, kept if kept is not None else _NOBODY)
        if player is None or kept is None or not right:
            if self.private:
                raise NotHad(
                    "no such name with this PIN: expected both as they were set. A player "
                    "without a PIN is given one at the server",
                    wrong=True,
                )
            if player is None:
                raise NotHad(f"no player {name.strip()!r}: choose one, or add a new one")
            raise NotHad(f"the PIN is not {player.name}'s", wrong=True)
        return player

    def added(self, name: str, pin: str) -> PlayerInfo:
        """A new player, with a PIN of their own if one is given. Raises NotHad, StoreError."""
        if (pin or self.private) and (why := bad_pin(pin)):
            raise NotHad(why)
        try:
            player = self._store.add_player(name)
        except Conflict as error:
            # Where nobody is listed, names are no more to be guessed than PINs.
            raise NotHad(str(error), wrong=self.private) from error
        if pin:
            self._store.phones.set_pin(player.id, hashed(pin))
        return player

    def set_pin(self, id: str, before: str, pin: str) -> None:
        """A player's PIN, another one, or none for an empty text. Raises NotHad."""
        kept = self._store.phones.pin_of(id)
        if kept is not None and not is_pin(before, kept):
            raise NotHad("the PIN up to now is not that", wrong=True)
        if pin and (why := bad_pin(pin)):
            raise NotHad(why)
        if not pin and self.private:
            raise NotHad("a PIN is needed here: expected 6 digits or more")
        self._store.phones.set_pin(id, hashed(pin) if pin else None)


_NOBODY = hashed("000000")
"""What a PIN is held against where there is nobody: that takes as long."""

__all__ = ["NotHad", "Players", "StoreError"]
