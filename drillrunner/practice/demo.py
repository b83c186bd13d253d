"""The demo's journal: a text file of what invented players typed, and how it is read.

    # a comment
    player NAME FIELD=VALUE...
    run TIME NAME DRILL [FIELD=VALUE...]
      SECONDS TEXT

A run is followed by its entries, one a line: the seconds since the run's time, and what was typed
in the grammar of the keypad, or `note WORDS` or `give up`. No score stands in it: whoever reads it
plays every entry through the game again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.rules import Entry, Kind, Refused, Run
from drillrunner.rules.game import Ask
from drillrunner.rules.keypad import read
from drillrunner.store.store import Store

JOURNAL = "journal.txt"


class BadJournal(ValueError):
    """A line that can't be read, with its number and what was expected."""


@dataclass(frozen=True, slots=True)
class Person:
    """A player as the journal names them; `fields` are given to the store as they stand."""

    name: str
    fields: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed, in seconds after the start of the run, and the line it stands in."""

    seconds: int
    text: str
    line: int = 0


@dataclass(slots=True)
class Played:
    """One run: when it began, who played which drill as set, and what they typed."""

    at: datetime
    player: str
    drill: Drill
    sets: tuple[str, ...] = ()
    typed: list[Typed] = field(default_factory=list)

    def times(self) -> tuple[datetime, ...]:
        """When each entry was typed."""
        return tuple(self.at + timedelta(seconds=typed.seconds) for typed in self.typed)

    def run(self) -> Run:
        """The run that the entries make. Raises BadJournal at one that can't be taken."""
        run = Run.begin(self.drill.game(), self.drill.between)
        for typed in self.typed:
            try:
                run = run.add(entry_of(typed.text, run.game.ask))
            except Refused as error:
                raise BadJournal(f"line {typed.line}: {error}") from None
        return run


@dataclass(frozen=True, slots=True)
class Journal:
    """Players and their runs, oldest first."""

    players: tuple[Person, ...]
    runs: tuple[Played, ...]


def entry_of(text: str, ask: Ask) -> Entry:
    """The entry that a text of the journal means. Raises Refused."""
    word, _, rest = text.partition(" ")
    if word == "note":
        return Entry(Kind.NOTE, rest)
    if text == "give up":
        return Entry(Kind.GIVE_UP, text)
    return read(text, ask)


def write(journal: Journal, header: str = "") -> str:
    """The journal as text; `parse` reads it back. header: lines that begin with `#`."""
    lines = [header.rstrip("\n"), ""] if header else []
    for person in journal.players:
        lines.append(" ".join(("player", person.name, *(f"{k}={v}" for k, v in person.fields))))
    for run in journal.runs:
        lines += ["", " ".join(("run", run.at.isoformat(), run.player, run.drill.id, *run.sets))]
        lines += [f"{typed.seconds:6d} {typed.text}" for typed in run.typed]
    return "\n".join(lines) + "\n"


def parse(text: str, catalogue: Catalogue) -> Journal:
    """The journal that a text holds. Raises BadJournal, with the line, at the first fault."""
    people: dict[str, Person] = {}
    runs: list[Played] = []
    for number, line in enumerate(text.splitlines(), 1):
        words = line.split()
        if not words or line.startswith("#"):
            continue
        try:
            if line[0].isspace():
                if not runs:
                    raise ValueError("expected a run before its entries")
                what = line.split(None, 1)[1].rstrip()
                runs[-1].typed.append(Typed(int(words[0]), what, number))
            elif words[0] == "player":
                people[words[1]] = Person(words[1], tuple(_pairs(words[2:])))
            elif words[0] == "run":
                runs.append(_run(words[1:], people, catalogue))
            else:
                raise ValueError("expected player, run or an entry")
        except IndexError:
            raise BadJournal(f"line {number}: expected more words") from None
        except (ValueError, KeyError) as error:
            raise BadJournal(f"line {number}: {error}") from None
    return Journal(tuple(people.values()), tuple(runs))


def _pairs(words: Iterable[str]) -> Iterable[tuple[str, str]]:
    for word in words:
        name, equals, value = word.partition("=")
        if not equals:
            raise ValueError(f"expected FIELD=VALUE, not {word!r}")
        yield name, value


def _run(words: Sequence[str], people: Iterable[str], catalogue: Catalogue) -> Played:
    at, player, id, sets = datetime.fromisoformat(words[0]), words[1], words[2], tuple(words[3:])
    if player not in people:
        raise ValueError(f"no player {player!r} above")
    drill = catalogue.drill(id)
    return Played(at, player, drill.with_set(sets) if sets else drill, sets)


def build(path: Path, today: date) -> None:
    """Make a database of the demo, all of it moved by whole days so that it ends yesterday.

    Each entry goes through the game and the store as if it were typed. Raises StoreError,
    BadJournal.
    """
    text = (bundled("demo_data") / JOURNAL).read_text(encoding="utf-8")
    journal = parse(text, load([bundled("games")]))
    moved = today - timedelta(days=1) - journal.runs[-1].at.date()
    with Store.open(path, lambda: journal.runs[0].at + moved, throwaway=True) as store:
        ids = {person.name: _added(store, person) for person in journal.players}
        for played in journal.runs:
            playing = store.begin(ids[played.player], played.drill)
            playing.append_all(played.run().entries, [at + moved for at in played.times()])


def _added(store: Store, person: Person) -> str:
    fields = dict(person.fields)
    index = fields.pop("index", None)
    info = store.add_player(person.name, index=None if index is None else Decimal(index))
    return store.change_player(info.id, **fields).id
