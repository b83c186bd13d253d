"""The bare app that ours is measured against: a header, large digits and a footer.

Run with a database, each key press inserts one row, committed with synchronous=FULL, and then
draws the new count: the least that keeping a shot and showing it can cost.
"""

from __future__ import annotations

import sqlite3
import sys

from textual.app import App, ComposeResult
from textual.events import Key
from textual.widgets import Digits, Footer, Header, Static


class Bare(App[None]):
    """Counts key presses."""

    BINDINGS = [("f1", "help", "Help"), ("f2", "players", "Players")]

    def __init__(self, database: str | None) -> None:
        super().__init__()
        self.count = 0
        self.rows: sqlite3.Connection | None = None
        if database is not None:
            self.rows = sqlite3.connect(database, isolation_level=None)
            self.rows.execute("PRAGMA journal_mode=WAL")
            self.rows.execute("PRAGMA synchronous=FULL")
            self.rows.execute("CREATE TABLE entry (at INTEGER PRIMARY KEY, typed TEXT)")

    def compose(self) -> ComposeResult:
        yield Header()
        yield Static("count 0", id="plain")
        yield Digits("0")
        yield Footer()

    def on_key(self, event: Key) -> None:
        if self.rows is not None:
            self.rows.execute("INSERT INTO entry (typed) VALUES (?)", (event.key,))
        self.count += 1
        self.query_one("#plain", Static).update(f"count {self.count}")
        self.query_one(Digits).update(str(self.count))


if __name__ == "__main__":
    Bare(sys.argv[1] if len(sys.argv) > 1 else None).run()
