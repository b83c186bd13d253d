"""Stock carries: clubs by swings, the gaps between them, and which distance to leave oneself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors, words
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.keys import FACES, key
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.lists import ROOMY, BlockList, ListRow
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.plans import TITLES
from drillrunner.odds.words import uncertain
from drillrunner.practice.carries import stock
from drillrunner.practice.carries.lay_up import lay_up
from drillrunner.practice.sessions.compose import FIND_BALLS, FIND_MINUTES, WARM_BALLS, search_plan
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.units import Unit, text

if TYPE_CHECKING:
    from drillrunner.store.store import Store

SWINGS = ("full", "three-quarter", "half")
"""Names of swings that are offered; a player may give any other."""
LONGEST_SWING = 40
OWN = "own"


def grid(rows: Sequence[stock.CarryRow], width: int) -> str:
    """Clubs by swings: the carry of each, with `!` where it overlaps the next and `?` if stale.

    Swings that do not fit beside each other in `width` columns stand under each other.
    """
    swings = list(dict.fromkeys(row.stock.swing for row in rows))
    clubs = sorted(
        {row.stock.club for row in rows}, key=lambda id: CLUBS[id].order if id in CLUBS else 99
    )
    names = {club: words.club(club) for club in clubs}
    first = max((len(name) for name in names.values()), default=0)
    columns = {swing: max(len(swing), 5) + 2 for swing in swings}
    cells = {
        (row.stock.club, row.stock.swing): text(row.stock.carry)
        + "!" * row.overlaps
        + "?" * row.stale
        for row in rows
    }
    lines: list[str] = []
    while swings:
        taken: list[str] = []
        room = width - first
        while swings and (not taken or columns[swings[0]] <= room):
            room -= columns[swings[0]]
            taken.append(swings.pop(0))
        lines.append(" " * first + "".join(f"{swing:>{columns[swing]}}" for swing in taken))
        lines += [
            f"{names[club]:<{first}}"
            + "".join(f"{cells.get((club, swing), '·'):>{columns[swing]}}" for swing in taken)
            for club in clubs
        ]
    return "\n".join(lines)


def said_of(row: stock.CarryRow, unit: Unit) -> str:
    """What lies between a stock carry and the next longer one, in a line."""
    parts = []
    if row.gap is not None:
        parts.append(f"{text(row.gap)} {unit} to the next")
        if row.uncovered:
            parts.append(f"{row.uncovered:.0f} of it uncovered")
    if row.overlaps:
        parts.append("! overlaps the next")
    if row.stale:
        parts.append("? stale: find it again")
    return " · ".join(parts) or "the longest"


class StockScreen(ListScreen):
    """The stock carries of the player of now."""

    topic = "stock"
    TITLE = "Stock carries"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go", "stock.find", "find", "Find one", shown=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[stock.CarryRow, ...] = ()

    def body(self) -> ComposeResult:
        with VerticalScroll(id="stock-top", can_focus=False):
            yield Static("", id="grid", markup=False)
        yield BlockList(id="stocks")
        yield Static("", id="lay-up", markup=False)

    @property
    def unit(self) -> Unit:
        """The unit of the player of now."""
        player = self.drillrunner.player
        return "yd" if player is None else player.unit

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        if player is not None:
            self.rows = stock.table(
                store.stock_carries(player.id), self.drillrunner.clock(), player.unit
            )
        self._show()

    def refit(self) -> None:
        self._show()

    def _show(self) -> None:
        unit, now = self.unit, self.drillrunner.clock()
        self.query_one("#grid", Static).update(
            grid(self.rows, self.size.width - 3)
            if self.rows
            else f"None found yet. {FACES['go']} finds one: five to twelve balls, typed blind."
        )
        self.block.fill(
            [
                Option(
                    ListRow(
                        f"{words.club(row.stock.club)}, {row.stock.swing}",
                        f"{text(row.stock.carry)} {unit} "
                        f"({row.stock.low:.0f} to {row.stock.high:.0f})",
                        said_of(row, unit),
                        words.when(row.stock.at, now),
                    ),
                    id=str(at),
                )
                for at, row in enumerate(self.rows)
            ]
        )
        best = lay_up(self.rows)[:3]
        roomy = self.size.width >= ROOMY
        lines = [
            f"leave {text(up.stock.carry)} {unit}"
            + (f" ({words.club(up.stock.club).lower()}, {up.stock.swing})" if roomy else "")
            + f": {uncertain(up.within_5)} % in 5, {uncertain(up.within_10)} % in 10"
            + (" ≈" if up.like_best and len(best) > 1 else "")
            for up in best
        ]
        if sum(up.like_best for up in best) > 1:
            lines.append("≈ can't be told apart")
        if lines:
            lines.insert(0, f"To lay up: chance to carry within 5, 10 {unit}")
        self.query_one("#lay-up", Static).update("\n".join(lines))

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        row = self.rows[event.option_index]
        data = row.stock.data
        shots = " ".join(
            carry if kept else f"({carry} out)"
            for carry, kept in zip(data.get("carries", ()), data.get("kept", ()), strict=False)
        )
        said = f"{shots} {row.stock.unit}\nspread {row.stock.spread:.1f} {self.unit}\n{stock.RULE}"

        def answered(choice: str | None) -> None:
            if choice == "again":
                self._plan(row.stock.club, row.stock.swing)

        title = f"{words.club(row.stock.club)}, {row.stock.swing}"
        self.app.push_screen(
            Choice(title, (("again", "find it again", f"{FIND_BALLS} balls, blind"),), said),
            answered,
        )

    def action_find(self) -> None:
        """A short session to find the stock carry of one club and swing."""
        self.drillrunner.records.with_store(self._choose_club)

    def _choose_club(self, store: Store) -> None:
        player = self.drillrunner.player
        if player is None:
            return
        clubs = [c for c in store.clubs(player.id) if not c.retired and c.id != "putter"]

        def answered(club: str | None) -> None:
            if club is not None:
                self._choose_swing(club)

        # The short clubs are what most searches are for.
        rows = [(club.id, club.label, "") for club in reversed(clubs)]
        self.app.push_screen(Choice("Which club?", rows), answered)

    def _choose_swing(self, club: str) -> None:
        known = [row.stock.swing for row in self.rows]
        swings = list(dict.fromkeys((*SWINGS, *known)))

        def answered(swing: str | None) -> None:
            if swing == OWN:
                self.app.push_screen(Question("Your name for the swing", check=_bad_swing), named)
            elif swing is not None:
                self._plan(club, swing)

        def named(swing: str | None) -> None:
            if swing:
                self._plan(club, swing)

        rows = [*((swing, swing, "") for swing in swings), (OWN, "in your own words …", "")]
        self.app.push_screen(Choice(f"{words.club(club)}: which swing?", rows), answered)

    def _plan(self, club: str, swing: str) -> None:
        """A session of one search; in one that goes on, a search is a block of its plan."""
        if self.drillrunner.sessions.desk is not None:
            self.say("a session goes on: finish or stop it first")
            return
        if self.drillrunner.sessions.waiting is not None:
            self.say("a session was left open: go on with it or end it first")
            return
        title = f"{TITLES['find']}: {words.club(club).lower()}, {swing}"

        def answered(warm: str | None) -> None:
            if warm is None:
                return
            plan = search_plan(club, swing, title, "asked for", warm=warm == "warm")
            self.drillrunner.open(doors.Cautions(plan, Limits(plan.minutes, plan.balls)))

        rows = (
            ("warm", "yes", f"{FIND_BALLS} balls, {FIND_MINUTES} minutes"),
            ("cold", "not yet", f"{WARM_BALLS} easy balls first, untyped"),
        )
        self.app.push_screen(Choice("Are you warm?", rows, words.COLD_BALLS), answered)


def _bad_swing(typed: str) -> str | None:
    if len(typed) > LONGEST_SWING:
        return f"{len(typed)} characters: expected at most {LONGEST_SWING}"
    return None if typed.isprintable() else "expected a name that can be printed"
