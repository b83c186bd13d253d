"""Who plays: the player of now, and how another one comes to be that."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from drillrunner.app import doors
from drillrunner.app.bare import Bare, BareScreen
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.fields import about_of, bad_about, bad_name
from drillrunner.app.records import Records
from drillrunner.store.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store


def ask_about(app: Bare, name: str, then: Callable[[str | None], None]) -> None:
    """Ask in one line for somebody's index and card; `then` has what was typed, or `None`."""
    said = "As 18.4 men or 24 women: a starting guess until there are shots. Enter skips it."
    app.push_screen(Question(f"{name}: index and card", said, check=bad_about), then)


class People:
    """name: who is to play, if that was said; added if nobody is called so yet."""

    def __init__(self, app: Bare, records: Records, name: str | None) -> None:
        self.app = app
        self.records = records
        self.named = name
        self._new: PlayerInfo | None = None
        """Who was made by being named, and is yet to be asked what one made here is asked."""
        self.waiting: Callable[[], object] | None = None
        """What is done as soon as somebody plays."""

    def settle(self, store: Store) -> None:
        """Who plays: the one named (new, if need be), else the owner, else ask."""
        if self.named is not None:
            self.app.player = store.player(self.named)
            if self.app.player is None:
                self.app.player = self._new = store.add_player(self.named)
            self.named = None
        if self.app.player is None:
            self.records.refresh()
            self.app.player = self.records.facts.player
        if self.app.player is not None:
            # Home, if that is on top, is read right after this.
            if self.waiting is not None or self.app.at != "home":
                self.now_plays(self.app.player)
        elif not any(
            isinstance(screen, BareScreen) and screen.asks_who for screen in self.app.screen_stack
        ):
            self.add()

    def ask_the_new(self) -> None:
        """Ask who was made by being named for index and card; what was asked for came first."""
        player, self._new = self._new, None
        if player is not None:
            ask_about(self.app, player.name, lambda typed: self._told(player, typed))

    def _told(self, player: PlayerInfo, typed: str | None) -> None:
        index, column = about_of(typed or "")

        def keep(store: Store) -> None:
            known = {"index": index, "column": column}
            given = {name: value for name, value in known.items() if value is not None}
            changed = store.change_player(player.id, **given)
            if self.app.player is not None and self.app.player.id == player.id:
                self.now_plays(changed)

        if index is not None or column is not None:
            self.records.with_store(keep)

    def now_plays(self, player: PlayerInfo) -> None:
        """Make somebody the player of now, and do what waited for one."""
        self.app.player = player
        self.records.refresh()
        waiting, self.waiting = self.waiting, None
        if waiting is not None:
            waiting()

    def choose(self) -> None:
        """Who plays: a list, with one more to add."""
        self.records.with_store(self._choose)

    def _choose(self, store: Store) -> None:
        players = store.players()

        def answered(choice: str | None) -> None:
            if choice == "new":
                self.add()
            elif choice == "about":
                self.app.open(doors.AboutPlayer())
            elif choice == "owner":
                self.records.with_store(self._make_owner)
            elif choice is not None:
                chosen = next(player for player in players if player.id == choice)
                self.records.apart(partial(self.now_plays, chosen))

        rows = [(player.id, player.name, "") for player in players]
        rows.append(("new", "+ add a player", ""))
        if self.app.player is not None:
            rows.append(("about", f"{self.app.player.name}: name, unit, index, clubs", ""))
            if self.app.player.id != self.records.facts.owner:
                rows.append(("owner", f"{self.app.player.name} opens first from now on", ""))
        current = self.app.player.id if self.app.player in players else None
        self.app.push_screen(Choice("Who plays?", rows, current=current), answered)

    def _make_owner(self, store: Store) -> None:
        """A bare start is the player's of now, on purpose."""
        if (player := self.app.player) is not None:
            store.set_owner(player.id)
            self.records.refresh()
            self.app.say(f"a start without a name is {player.name}'s from now on")

    def not_me(
        self,
        whose: str,
        give: Callable[[Store, PlayerInfo], object],
        given: Callable[[], object],
        besides: Sequence[str] = (),
    ) -> None:
        """Ask whose something was, and give it to them. whose: the id of who has it now.

        Where only one's own records are read, that is done at the server.

        given: called once that is on disk. besides: others whom it can't be given to.
        """
        if self.records.own is not None:
            self.app.say("here what was typed stays with who signed in: ask at the server")
            return
        self.records.with_store(lambda store: self._not_me(store, whose, give, given, besides))

    def _not_me(
        self,
        store: Store,
        whose: str,
        give: Callable[[Store, PlayerInfo], object],
        given: Callable[[], object],
        besides: Sequence[str],
    ) -> None:
        def give_to(store: Store, player: PlayerInfo) -> None:
            try:
                give(store, player)
            except StoreError as error:
                self.app.say(str(error))
                return
            self.records.refresh()
            given()
            self.app.say(f"it is {player.name}'s now; records and patterns follow")

        def answered(choice: str | None) -> None:
            if choice == "new":
                self.app.push_screen(Question("Whose was it?", check=bad_name), named)
            elif choice is not None:
                self.records.with_store(lambda store: give_to(store, store.player_of(choice)))

        def named(name: str | None) -> None:
            if name:
                self.records.with_store(
                    lambda store: give_to(store, store.player(name) or store.add_player(name))
                )

        others = [one for one in store.players() if one.id not in (whose, *besides)]
        rows = [*((one.id, one.name, "") for one in others), ("new", "+ somebody new", "")]
        said = "It is kept that it was given; nothing that was typed is changed."
        self.app.push_screen(Choice("Not me: whose was it?", rows, said), answered)

    def add(self) -> None:
        """Add a player; where only one's own records are read, each signs in on a phone."""
        if self.records.own is not None:
            self.app.say("here another player signs in on a phone of their own")
            return
        self.app.open(doors.NewPlayer(first=self.app.player is None))
