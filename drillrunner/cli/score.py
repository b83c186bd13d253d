"""`drillrunner score`: fold a tally from paper, and save it if wanted."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import labelled, put_json, shown_value
from drillrunner.cli.options import (
    FINE,
    Wrong,
    add_drill,
    add_json,
    add_player,
    catalogue,
    drill,
    open_store,
)
from drillrunner.cli.terminal import put
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Entry, Kind, Refused, Run
from drillrunner.rules.score import beats
from drillrunner.rules.soundness import file_of, place

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.store.shapes import Best, PlayerInfo
    from drillrunner.store.store import Store


def arguments(parser: argparse.ArgumentParser) -> None:
    add_drill(parser)
    parser.add_argument(
        "entries",
        metavar="ENTRY",
        nargs="+",
        help="as on the keypad: 5 4 6 0, -15 +35 0, 64; undo, void and lost are words",
    )
    add_player(parser, "whose tally it is; with --save a new name is created")
    parser.add_argument("--save", action="store_true", help="keep it in the database")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Score the tally. Raises Wrong, BadDrill, NeedsStock, StoreError."""
    played = drill(catalogue(args), args)
    best: Best | None = None
    if args.save:
        played, tally, unused, best = _save(args, played)
    else:
        played = _aimed(args, played) if played.stock else played
        tally, unused = fold_tally(played, args.entries)
    document = _document(played, tally, best, args.save, unused)
    if args.json:
        put_json(document)
    else:
        put(_summary(played, document))
    return FINE


def fold_tally(played: Drill, texts: Sequence[str]) -> tuple[Run, int]:
    """The run that these texts make, and how many balls were left after its end.

    Raises Wrong, naming the text that can't be taken by its position.
    """
    game = played.game()
    try:
        run = Run.begin(game, played.between, tally=True)
    except Exception as error:
        raise Wrong(_raised(played, error)) from None
    unused = 0
    for at, typed in enumerate(texts, 1):
        named = repr(typed.strip())
        try:
            entry = read(typed, run.ask)
            if entry.kind is Kind.BETWEEN:
                raise Refused("a tally leaves out the balls in between")
            if entry.kind is Kind.SHOT and run.over:
                unused += 1
            else:
                run = run.add(entry)
        except Refused as error:
            reason = str(error).removeprefix(named).lstrip(": ")
            raise Wrong(f"entry {at} ({named}): {reason}") from None
        except Exception as error:
            raise Wrong(f"entry {at} ({named}): {_raised(played, error)}") from None
    return run, unused


def _raised(played: Drill, error: Exception) -> str:
    """What to say of a game that raised, with its file and line."""
    file = file_of(played.game_class)
    line = place(error, file)
    where = f"{file}" if line is None else f"{file}:{line}"
    return f"{where}: the game raised {type(error).__name__}: {error}"


def _save(args: argparse.Namespace, written: Drill) -> tuple[Drill, Run, int, Best | None]:
    """Keep the tally, once all of it is right: the drill as played, its run, what was left over."""
    if not written.stock:
        # A wrong entry must not even make a database.
        fold_tally(written, args.entries)
    store = open_store(args)
    try:
        player = _whose(store, args.player)
        played = _fitted(store, player, written)
        tally, unused = fold_tally(played, args.entries)
        if player is None:
            player = store.add_player(args.player)
        playing = store.begin(player.id, played, tally=True)
        run = playing.append_all(tuple(_whole(tally)))
        return played, run, unused, playing.best_before
    finally:
        store.close()


def _whole(tally: Run) -> Iterable[Entry]:
    """The entries of a tally; one that does not reach the end is given up."""
    yield from tally.entries
    if not tally.over:
        yield Entry(Kind.GIVE_UP)


def _whose(store: Store, name: str | None) -> PlayerInfo | None:
    """The player; `None` for a name that is new. Raises Wrong if it can't be told whose it is."""
    if name is not None:
        return store.player(name)
    players = store.players()
    if len(players) != 1:
        raise Wrong("whose tally is it? --player NAME says so")
    return players[0]


def _aimed(args: argparse.Namespace, written: Drill) -> Drill:
    """The drill aimed at the stock carry of the player meant, where there is one."""
    from drillrunner.cli.odds_options import stored

    with stored(args) as (store, whose):
        return written if store is None else _fitted(store, whose, written)


def _fitted(store: Store, player: PlayerInfo | None, written: Drill) -> Drill:
    """The drill in the player's unit, aimed at their stock carry where it asks for that."""
    if player is None:
        return written
    from drillrunner.practice.carries.stock import in_force
    from drillrunner.practice.sessions.plan import as_played

    return as_played(written, player.unit, in_force(store.stock_carries(player.id)))


def _document(
    played: Drill, tally: Run, best: Best | None, saved: bool, unused: int
) -> dict[str, Any]:
    better = played.game_class.better
    is_best = tally.finished and beats(better, tally.score, best.score if best else None)
    return {
        "drill": played.id,
        "game": played.game_class.id,
        "better": better,
        "score": tally.score,
        "over": tally.over,
        "ended": tally.ended,
        "counted": tally.counted,
        "voided": tally.voided,
        "undone": tally.undone,
        "readout": dict(tally.now.readout),
        "best_before": best.score if best else None,
        "is_best": is_best if saved else None,
        "unused": unused,
    }


def _summary(played: Drill, document: dict[str, Any]) -> str:
    score, over = document["score"], document["over"]
    lines = {
        "score": shown_value(score) + ("" if over else " so far"),
        **document["readout"],
        "ended": document["ended"] or "not yet",
        "counted": document["counted"],
        "voided": document["voided"],
        "undone": document["undone"],
    }
    if document["unused"]:
        lines["left over"] = document["unused"]
    if document["is_best"] is not None:
        lines["best before"] = document["best_before"]
        lines["saved"] = "a new best" if document["is_best"] else "no new best"
    return f"{played.title} ({played.id})\n\n{labelled(lines)}"
