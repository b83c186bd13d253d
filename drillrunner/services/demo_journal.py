"""The demo's journal: a text file of what invented players typed, and how it is read.

    # a comment
    player NAME FIELD=VALUE...
    run TIME NAME DRILL [FIELD=VALUE...]
      SECONDS TEXT
    session TIME NAME PLAN
    block KIND MINUTES BALLS [FIELD=VALUE...]
      SECONDS TEXT
    match TIME DRILL TURNS TIE NAME NAME...
      SECONDS TEXT
    round TIME NAME COURSE TEE FORM FIRST LAST
      SECONDS ANSWER ANSWER...

What was typed follows, one a line: the seconds since the time above, and a text in the grammar of
the keypad, or `note WORDS` or `give up`. In a session it may also be `ball` for one hit outside a
game, a carry of a search, `reveal`, or `done` for a block. In a match it is for whoever is to play.
Of a round each line is a hole, from FIRST on: the answers to what is asked of it, one a word, `=`
for Enter alone.
No score stands in it: whoever reads it plays every entry through the game again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, cast, get_args

from drillrunner.catalogue.courses import Course, load_courses
from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue, bundled
from drillrunner.catalogue.plans import KINDS, TITLES, Block, BlockKind, Plan
from drillrunner.practice.matches.match import FEWEST_PLAYERS, MOST_PLAYERS, Tie, Turns
from drillrunner.rules import Entry, Refused, Run
from drillrunner.rules import Kind as EntryKind
from drillrunner.rules.card import FORMS, Form, HolePlayed
from drillrunner.rules.card_keys import HoleLine
from drillrunner.rules.keypad import read
from drillrunner.rules.station import Ask

JOURNAL = "journal.txt"
ENTER = "="
"""Enter alone as the answer to what is asked of a hole."""


class BadJournal(ValueError):
    """A line that can't be read, with its number and what was expected."""


@dataclass(frozen=True, slots=True)
class Person:
    """A player as the journal names them; `fields` are given to the store as they stand."""

    name: str
    fields: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class TypedLine:
    """What was typed, in seconds after the start, and the line it stands in."""

    seconds: int
    text: str
    line: int = 0


@dataclass(slots=True)
class Part:
    """One thing that was played: when it began, and what was typed."""

    at: datetime
    typed: list[TypedLine] = field(default_factory=list, kw_only=True)

    def times(self) -> tuple[datetime, ...]:
        """When each entry was typed."""
        return tuple(self.at + timedelta(seconds=typed.seconds) for typed in self.typed)


@dataclass(slots=True)
class PlayedRun(Part):
    """One run: who played which drill as set."""

    player: str
    drill: Drill
    sets: tuple[str, ...] = ()

    def run(self) -> Run:
        """The run that the entries make. Raises BadJournal at one that can't be taken."""
        run = Run.begin(self.drill.game(), self.drill.between)
        for typed in self.typed:
            try:
                run = run.add(entry_of(typed.text, run.ask))
            except Refused as error:
                raise BadJournal(f"line {typed.line}: {error}") from None
        return run

    def head(self) -> list[str]:
        """The lines above what was typed."""
        return [" ".join(("run", self.at.isoformat(), self.player, self.drill.id, *self.sets))]


@dataclass(slots=True)
class PlayedSession(Part):
    """One session: who practised, and the blocks of the plan, which are filled in as read."""

    player: str
    plan_id: str
    blocks: list[Block] = field(default_factory=list)

    def plan(self) -> Plan:
        """The blocks as a plan; its title is made of its id."""
        title = self.plan_id.replace("-", " ").capitalize()
        return Plan(self.plan_id, title, "", "", tuple(self.blocks))

    def head(self) -> list[str]:
        """The lines above what was typed."""
        return [
            " ".join(("session", self.at.isoformat(), self.player, self.plan_id)),
            *(" ".join(_block_words(block)) for block in self.blocks),
        ]


@dataclass(slots=True)
class PlayedMatch(Part):
    """One match: the drill, how it is played, and who plays, in their order."""

    drill: Drill
    turns: Turns
    tie: Tie
    players: tuple[str, ...]

    def head(self) -> list[str]:
        """The lines above what was typed."""
        words = (self.at.isoformat(), self.drill.id, self.turns, self.tie, *self.players)
        return [" ".join(("match", *words))]


@dataclass(slots=True)
class PlayedCard(Part):
    """One round on a bundled course: from which tee, how much of it is told, and which holes."""

    player: str
    course: Course
    tee: str
    form: Form
    numbers: range

    def holes(self) -> tuple[HolePlayed, ...]:
        """The holes as they were told. Raises BadJournal at an answer that can't be taken."""
        if len(self.typed) != len(self.numbers):
            line = self.typed[-1].line if self.typed else 0
            raise BadJournal(f"line {line}: expected {len(self.numbers)} holes")
        return tuple(map(self._hole, self.numbers, self.typed))

    def _hole(self, number: int, typed: TypedLine) -> HolePlayed:
        line = HoleLine.begin(number, self.course.holes[number - 1].par, self.form)
        try:
            for answer in typed.text.split():
                line = line.answer("" if answer == ENTER else answer)
        except Refused as error:
            raise BadJournal(f"line {typed.line}: {error}") from None
        if not line.done:
            raise BadJournal(f"line {typed.line}: expected an answer more, {line.at}")
        return line.now

    def head(self) -> list[str]:
        """The lines above what was typed."""
        holes = f"{self.numbers[0]} {self.numbers[-1]}"
        words = (self.at.isoformat(), self.player, self.course.id, self.tee, self.form, holes)
        return [" ".join(("round", *words))]


Anything = PlayedRun | PlayedSession | PlayedMatch | PlayedCard


@dataclass(frozen=True, slots=True)
class Journal:
    """Players and what they played, oldest first."""

    players: tuple[Person, ...]
    parts: tuple[Anything, ...]

    @property
    def runs(self) -> tuple[PlayedRun, ...]:
        """The runs that were played outside sessions and matches."""
        return tuple(part for part in self.parts if isinstance(part, PlayedRun))


def entry_of(text: str, ask: Ask) -> Entry:
    """The entry that a text of the journal means. Raises Refused."""
    word, _, rest = text.partition(" ")
    if word == "note":
        return Entry(EntryKind.NOTE, rest)
    if text == "give up":
        return Entry(EntryKind.GIVE_UP, text)
    return read(text, ask)


def write(journal: Journal, header: str = "") -> str:
    """The journal as text; `parse` reads it back. header: lines that begin with `#`."""
    lines = [header.rstrip("\n"), ""] if header else []
    for person in journal.players:
        lines.append(" ".join(("player", person.name, *(f"{k}={v}" for k, v in person.fields))))
    for part in journal.parts:
        lines += ["", *part.head()]
        lines += [f"{typed.seconds:6d} {typed.text}" for typed in part.typed]
    return "\n".join(lines) + "\n"


def parse_journal(text: str, catalogue: Catalogue) -> Journal:
    """The journal that a text holds. Raises BadJournal, with the line, at the first fault."""
    people: dict[str, Person] = {}
    parts: list[Anything] = []
    for number, line in enumerate(text.splitlines(), 1):
        words = line.split()
        if not words or line.startswith("#"):
            continue
        try:
            if line[0].isspace():
                if not parts:
                    raise ValueError("expected a run, session, match or round before its entries")
                what = line.split(None, 1)[1].rstrip()
                parts[-1].typed.append(TypedLine(int(words[0]), what, number))
            elif words[0] == "player":
                people[words[1]] = Person(words[1], tuple(_pairs(words[2:])))
            elif words[0] == "run":
                parts.append(_run(words[1:], people, catalogue))
            elif words[0] == "session":
                at, player = datetime.fromisoformat(words[1]), _known(words[2], people)
                parts.append(PlayedSession(at, player, words[3]))
            elif words[0] == "block":
                last = parts[-1] if parts else None
                if not isinstance(last, PlayedSession):
                    raise ValueError("expected a session before its blocks")
                last.blocks.append(_block(words[1:], catalogue))
            elif words[0] == "match":
                parts.append(_match(words[1:], people, catalogue))
            elif words[0] == "round":
                parts.append(_round(words[1:], people))
            else:
                raise ValueError("expected player, run, session, block, match, round or an entry")
        except IndexError:
            raise BadJournal(f"line {number}: expected more words") from None
        except (ValueError, LookupError) as error:
            raise BadJournal(f"line {number}: {error}") from None
    return Journal(tuple(people.values()), tuple(parts))


def _pairs(words: Iterable[str]) -> Iterable[tuple[str, str]]:
    for word in words:
        name, equals, value = word.partition("=")
        if not equals:
            raise ValueError(f"expected FIELD=VALUE, not {word!r}")
        yield name, value


def _known(player: str, people: Collection[str]) -> str:
    if player not in people:
        raise ValueError(f"no player {player!r} above")
    return player


def _run(words: Sequence[str], people: Collection[str], catalogue: Catalogue) -> PlayedRun:
    at, player, id, sets = datetime.fromisoformat(words[0]), words[1], words[2], tuple(words[3:])
    drill = catalogue.drill(id)
    return PlayedRun(at, _known(player, people), drill.with_set(sets) if sets else drill, sets)


FIELDS = ("drill", "club", "swing", "shots")
"""What can be said of a block."""


def _block(words: Sequence[str], catalogue: Catalogue) -> Block:
    kind, minutes, balls = _one_of(words[0], KINDS), int(words[1]), int(words[2])
    fields: dict[str, Any] = {}
    for name, value in _pairs(words[3:]):
        fields[_one_of(name, FIELDS)] = int(value) if name == "shots" else value
    title = (
        catalogue.drill(fields["drill"]).title
        if "drill" in fields
        else TITLES[cast(BlockKind, kind)]
    )
    return Block(cast(BlockKind, kind), title, minutes, balls, **fields)


def _block_words(block: Block) -> Iterable[str]:
    yield from ("block", block.kind, str(block.minutes), str(block.balls))
    plain = Block(block.kind, block.title, block.minutes, block.balls)
    for name in FIELDS:
        if (value := getattr(block, name)) != getattr(plain, name):
            yield f"{name}={value}"


def _match(words: Sequence[str], people: Collection[str], catalogue: Catalogue) -> PlayedMatch:
    at, drill = datetime.fromisoformat(words[0]), catalogue.drill(words[1])
    turns = cast(Turns, _one_of(words[2], get_args(Turns)))
    tie = cast(Tie, _one_of(words[3], get_args(Tie)))
    names = tuple(_known(name, people) for name in words[4:])
    if not FEWEST_PLAYERS <= len(set(names)) == len(names) <= MOST_PLAYERS:
        raise ValueError(f"expected {FEWEST_PLAYERS} to {MOST_PLAYERS} players")
    return PlayedMatch(at, drill, turns, tie, names)


def _round(words: Sequence[str], people: Collection[str]) -> PlayedCard:
    at, player = datetime.fromisoformat(words[0]), _known(words[1], people)
    course = load_courses([bundled("games") / "courses"]).course(words[2])
    tee, form = course.tee(words[3]).name, cast(Form, _one_of(words[4], FORMS))
    first, last = int(words[5]), int(words[6])
    if not 1 <= first <= last <= len(course.holes):
        raise ValueError(f"expected holes from 1 to {len(course.holes)}")
    return PlayedCard(at, player, course, tee, form, range(first, last + 1))


def _one_of(word: str, words: Sequence[str]) -> str:
    if word not in words:
        raise ValueError(f"{word!r}: expected one of {', '.join(words)}")
    return word
