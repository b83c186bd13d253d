"""Which runs history shows: by player, drill, club and dates, asked one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from drillrunner.app import words
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.screens.base import BaseScreen

if TYPE_CHECKING:
    from drillrunner.store.store import Store

ALL = "*all"
EVERYONE = "everyone"
SPANS = (("30", "the last 30 days"), ("90", "the last 90 days"), ("365", "the last 365 days"))


@dataclass(frozen=True)
class Shown:
    """Which runs are looked at. player: an id, `EVERYONE`, or `None` for the player of now.

    first, last: days, both of them in.
    """

    drill: str | None = None
    club: str | None = None
    player: str | None = None
    first: date | None = None
    last: date | None = None


class WhichScreen(BaseScreen):
    """Base of a screen whose runs can be narrowed down.

    shown: which ones. name_of_drill: in words.
    """

    shown: Shown
    name_of_drill: str

    @property
    def player_id(self) -> str | None:
        """Whose they are; `None` for everyone's."""
        raise NotImplementedError

    def narrow(self, **fields: object) -> None:
        """Show other runs: `shown` with these fields."""
        raise NotImplementedError


def day_of(typed: str) -> date | None:
    """A day as typed; `None` for nothing. Raises ValueError."""
    return date.fromisoformat(typed) if typed else None


def bad_days(typed: str) -> str | None:
    """Why a text is no pair of days, or `None`."""
    try:
        first, last = days_of(typed)
    except ValueError:
        return f"{typed}: expected one day or two, as 2025-04-01 or 2025-04-01 2025-04-30"
    return "the first day comes after the last" if first and last and first > last else None


def days_of(typed: str) -> tuple[date | None, date | None]:
    """The first and the last day in a text; the last may be missing. Raises ValueError."""
    parts = typed.split()
    if len(parts) > 2:
        raise ValueError(typed)
    first, last = (*map(day_of, parts), None, None)[:2]
    return first, last


def ask_which(screen: WhichScreen, store: Store) -> None:
    """Ask what to narrow, then by what; `screen.narrow` takes the answer."""
    shown, settings = screen.shown, store.settings(None, screen.player_id)
    players = store.players(hidden=True)
    named = {player.id: player.name for player in players} | {EVERYONE: "everyone"}
    drills = {run.drill: run.title for run in reversed(settings)}
    clubs = dict.fromkeys(club for run in settings for club, _ in run.swings)
    me = screen.drillrunner.player
    whose = shown.player or (me.id if me else EVERYONE)

    def answered(choice: str | None) -> None:
        if choice == "player":
            rows = [(id, name) for id, name in named.items()]
            _pick(screen, "Whose runs?", rows, whose, "player")
        elif choice == "drill":
            rows = [(ALL, "all drills"), *reversed(drills.items())]
            _pick(screen, "Which drill?", rows, shown.drill or ALL, "drill")
        elif choice == "club":
            rows = [(ALL, "all clubs"), *((club, words.club(club)) for club in clubs)]
            _pick(screen, "Which club?", rows, shown.club or ALL, "club")
        elif choice == "dates":
            _ask_dates(screen)
        elif choice == "clear":
            screen.shown = Shown()
            screen.narrow()

    dates = " to ".join(str(day) for day in (shown.first, shown.last) if day) or "any"
    rows = (
        ("player", f"Player: {named.get(whose, 'another')}", ""),
        ("drill", f"Drill: {drills.get(shown.drill or '', 'all drills')}", ""),
        ("club", f"Club: {words.club(shown.club) if shown.club else 'all clubs'}", ""),
        ("dates", f"Dates: {dates}", ""),
        ("clear", "All of mine", "every drill, club and date"),
    )
    screen.app.push_screen(Choice("Which runs?", rows), answered)


def _pick(
    screen: WhichScreen, title: str, rows: Sequence[tuple[str, str]], current: str, field: str
) -> None:
    def answered(choice: str | None) -> None:
        if choice is None:
            return
        fields: dict[str, object] = {field: None if choice == ALL else choice}
        if field == "drill":
            screen.name_of_drill = dict(rows)[choice]
        if field != "player":
            # A drill and a club that have nothing to do with each other would show nothing.
            fields = {"drill": None, "club": None, **fields}
        screen.narrow(**fields)

    ids = [id for id, _ in rows]
    choices = [(id, name, "") for id, name in rows]
    at = current if current in ids else None
    screen.app.push_screen(Choice(title, choices, current=at), answered)


def _ask_dates(screen: WhichScreen) -> None:
    today = screen.drillrunner.clock().date()

    def typed(text: str | None) -> None:
        if text is not None:
            first, last = days_of(text)
            screen.narrow(first=first, last=last)

    def answered(choice: str | None) -> None:
        if choice == ALL:
            screen.narrow(first=None, last=None)
        elif choice == "typed":
            shown = (screen.shown.first, screen.shown.last)
            value = " ".join(str(day) for day in shown if day)
            question = Question(
                "From and to", "the first day, and the last if you like", value, bad_days
            )
            screen.app.push_screen(question, typed)
        elif choice is not None:
            screen.narrow(first=today - timedelta(days=int(choice) - 1), last=None)

    rows = [(ALL, "any date", ""), *((days, said, "") for days, said in SPANS)]
    rows.append(("typed", "type the days", "as 2025-04-01"))
    screen.app.push_screen(Choice("Which dates?", rows), answered)
