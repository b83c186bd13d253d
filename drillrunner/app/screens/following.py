"""What play and result of a match between bays share: they follow what the others type."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillrunner.app import bays
from drillrunner.app.host import Host
from drillrunner.app.newest import HasQuestions, Newest
from drillrunner.services.match_desk import MatchDesk
from drillrunner.store import background

if TYPE_CHECKING:
    from drillrunner.app.bays import Lookout, Stand
    from drillrunner.rules.run import Entry
    from drillrunner.store.store import Store

Looked = tuple["Stand", "MatchDesk | None"]


class Follows(HasQuestions):
    """Mixed into a screen of a match. away: whose screens have gone."""

    desk: MatchDesk
    unwritten: tuple[Entry, ...]
    drillrunner: Host
    is_current: bool
    set_interval: Any
    say: Any

    away: frozenset[str] = frozenset()
    _watch: Lookout | None = None
    _looking: Newest | None = None
    _version = ""
    """What the match looked like when it was read last."""

    def on_mount(self) -> None:
        """Look again and again, where others type in other bays."""
        if self.desk.own is not None:
            self._looking = Newest(self)  # type: ignore[arg-type]
            self.set_interval(bays.FOLLOWED, self._look)

    def on_unmount(self) -> None:
        """Others are told that this screen goes."""
        watch, self._watch = self._watch, None
        if watch is not None and self.drillrunner.is_running:
            self.drillrunner.run_worker(background.done(lambda: bays.going(watch)))

    def _look(self) -> None:
        store, looking = self.drillrunner.records.store, self._looking
        if store is None or looking is None or not looking.settled or not self.is_current:
            return
        here = self.drillrunner.in_sight
        looking.ask(lambda: self._looked(store, here), self._stands, self._blind)

    def _looked(self, store: Store, here: bool) -> Looked:
        """In a thread: how it stands, and the match anew if anything was played."""
        desk = self.desk
        assert desk.own is not None
        if self._watch is None:
            found = store.gatherings.of_match(desk.info.id)
            assert found is not None
            self._watch = bays.Lookout(store, found.number, desk.own)
        stand = self._watch.look(here)
        if stand.gathering.version == self._version:
            return stand, None
        fresh = MatchDesk.resume(store, desk.games, desk.info.id, desk.own)
        fresh.playing()
        return stand, fresh

    def _stands(self, looked: Looked) -> None:
        stand, fresh = looked
        self._blind(None)
        if self.unwritten or not self.drillrunner.records.unwritten.kept:
            return  # what is typed here comes first; the next look sees both
        if fresh is not None:
            self._version = stand.gathering.version
            if self.desk.follow(fresh):
                self.others_played()
        if stand.away != self.away:
            before, self.away = self.away, stand.away
            self.others_went(before)

    def _blind(self, error: Exception | None) -> None:
        """Say once that the match can't be looked at, and nothing more until it can again."""
        said = "" if error is None else str(error)
        if said and said != self._trouble:
            self.say(said)
        self._trouble = said

    _trouble = ""

    def others_played(self) -> None:
        """Show what somebody else typed."""

    def others_went(self, before: frozenset[str]) -> None:
        """Show who is away now. before: who was."""
