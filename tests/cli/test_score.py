"""`score`: a tally from paper."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue import allowed
from tests.catalogue.files import GAME, changed, write
from tests.cli.run import Run

KEYS = {
    "drill",
    "game",
    "better",
    "score",
    "over",
    "ended",
    "counted",
    "voided",
    "undone",
    "readout",
    "best_before",
    "is_best",
    "unused",
}


def test_the_document(run: Run) -> None:
    said = run("score hold-the-corridor 5 5 4 0 5 6 5 --json")
    assert said.code == 0
    assert said.err == ""
    assert said.json == {
        "drill": "hold-the-corridor",
        "game": "lives",
        "better": "higher",
        "score": 3,
        "over": True,
        "ended": "out of lives",
        "counted": 6,
        "voided": 0,
        "undone": 0,
        "readout": {"held": 3, "lives left": 0, "balls": 6},
        "best_before": None,
        "is_best": None,
        "unused": 1,
    }
    assert set(said.json) == KEYS


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("hold-the-corridor 5 5", {"score": 2, "over": False, "ended": None, "unused": 0}),
        ("hold-the-corridor 5 +15 -25 undo void", {"score": 1, "counted": 1, "voided": 1}),
        ("hold-the-corridor 4 4 4 undo 5", {"score": 1, "over": False, "undone": 1}),
        ("hold-the-corridor 4 4 4 void 5 5", {"score": 2, "voided": 1, "unused": 0}),
        ("hold-the-corridor 4 4 4 5 undo 5", {"score": 1, "unused": 1, "counted": 3}),
        ("hold-the-corridor 8 2 7", {"score": 2}),
        ("miss-total -15 +35 0 15 -12,5 7.25", {"score": 84.75, "better": "lower"}),
        ("miss-total -15 --json +35 --set balls=2 0", {"score": 50, "unused": 1}),
        ("miss-total-five - + lost -55 0", {"score": 160, "ended": "all balls played"}),
        ("on-the-number 44 46 45", {"score": 3, "ended": "on the number"}),
        ("on-the-number 44.4 45.4", {"score": 2, "over": True}),
        (f"on-the-number {'44 ' * 20}", {"score": None, "ended": "out of balls", "counted": 20}),
        ("on-the-number 44 * 44 / 45", {"score": 1, "undone": 1, "voided": 1}),
        ("on-the-number 44 UNDO", {"score": 0, "undone": 1}),
        ("number-between-drives 90 91 82.5", {"score": 3, "over": False}),
        ("three-drives-in-a-row 5 5 4 5 5 5", {"score": 6, "ended": "3 in a row"}),
        ("hold-the-corridor --set width=20 +11 +10", {"score": 1}),
        ("hold-the-corridor --set aim.depth=10 9 5", {"score": 1}),
        ("hold-the-corridor -- 5 -30", {"score": 1, "counted": 2}),
    ],
)
def test_tallies(words: str, expected: dict[str, object], run: Run) -> None:
    said = run("score --json", words)
    assert said.code == 0, said.err
    assert {key: said.json[key] for key in expected} == expected


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("miss-total 5 x 3", "entry 2 ('x'): means nothing here: expected a signed number"),
        ("miss-total -15 +", "entry 2 ('+'): a lost ball has no number here: type where"),
        ("miss-total 0 151", "entry 2 ('151'): 151 is far for a miss: expected at most 150 yards"),
        ("on-the-number 401", "entry 1 ('401'): 401 is far for a carry: expected at most 400"),
        ("on-the-number -45", "entry 1 ('-45'): a carry has no sign"),
        ("hold-the-corridor 5 15", "entry 2 ('15'): a number needs its sign here"),
        ("hold-the-corridor undo", "entry 1 ('undo'): nothing to undo"),
        ("hold-the-corridor 5 void void", "entry 3 ('void'): nothing to void"),
        ("hold-the-corridor 4 4 4 5 x", "entry 5 ('x'): means nothing here"),
        ("number-between-drives 90 between", "entry 2 ('between'): a tally leaves out the balls"),
        ("miss-total \u0661\u0662", "entry 1 ('\u0661\u0662'): means nothing here"),
        ("nowhere 5", "no drill 'nowhere'"),
        ("hold-the-corridor", "the following arguments are required: ENTRY"),
        ("hold-the-corridor --set lives=0 5", "--set: settings.lives: expected greater than or"),
        ("hold-the-corridor 5 --what", "unrecognized arguments: --what"),
        ("hold-the-corridor 5 --jso", "unrecognized arguments: --jso"),
    ],
)
def test_wrong_input_is_one_line_and_nothing_is_saved(
    words: str, reason: str, run: Run, home: Path
) -> None:
    said = run("score --save --player Ana", words)
    assert said.code == 2
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.startswith(f"drillrunner: {reason}")
    assert not (home / "data").exists()


def test_without_save_there_is_no_database(run: Run, home: Path) -> None:
    said = run("score hold-the-corridor 5 4 4 4 --player Ana")
    assert said.code == 0
    assert not (home / "data").exists()
    assert said.out.splitlines()[:3] == [
        "Hold the corridor (hold-the-corridor)",
        "",
        "score       1",
    ]


def test_saved_runs_make_bests(run: Run) -> None:
    first = run("score hold-the-corridor 5 5 4 4 4 --save --player Ana --json").json
    assert (first["best_before"], first["is_best"]) == (None, True)
    tie = run("score hold-the-corridor 5 5 4 4 4 --save --player ana --json").json
    assert (tie["best_before"], tie["is_best"]) == (2, False)
    better = run("score hold-the-corridor 5 5 5 4 4 4 --save --json").json
    assert (better["best_before"], better["is_best"]) == (2, True)
    wider = run("score hold-the-corridor 5 4 4 4 --set width=50 --save --json").json
    assert (wider["best_before"], wider["is_best"]) == (None, True)
    bests = run("best --json").json
    assert [(best["drill"], best["setting"]["aim"], best["score"]) for best in bests] == [
        ("hold-the-corridor", {"width": 40}, 3),
        ("hold-the-corridor", {"width": 50}, 1),
    ]


def test_an_unfinished_tally_is_saved_as_given_up_and_is_no_record(run: Run) -> None:
    said = run("score hold-the-corridor 5 5 5 --save --player Ana --json").json
    assert (said["ended"], said["score"], said["is_best"]) == ("given up", 3, False)
    (stored,) = run("history --json").json
    assert (stored["finished"], stored["ended"], stored["counted"]) == (False, "given up", 3)
    assert run("best --json").json == []


def test_a_finished_run_without_a_score_is_no_record(run: Run) -> None:
    misses = ["44"] * 20
    said = run("score on-the-number --save --player Ana --json", misses).json
    assert (said["score"], said["ended"], said["is_best"]) == (None, "out of balls", False)
    (stored,) = run("history --json").json
    assert (stored["finished"], stored["score"]) == (True, None)


def test_whose_tally_must_be_clear(run: Run) -> None:
    assert "--player NAME" in run("score on-the-number 45 --save").err
    run("score on-the-number 45 --save --player Ana")
    assert run("score on-the-number 45 --save").code == 0
    run("score on-the-number 45 --save --player Ben")
    assert run("score on-the-number 45 --save").code == 2
    assert run("score on-the-number 45 --save --player", [" "]).code == 2


def test_a_tally_may_be_saved_while_a_run_of_the_drill_is_open(run: Run, home: Path) -> None:
    from drillrunner.catalogue.loader import folders, load
    from drillrunner.rules.keypad import read
    from drillrunner.store.store import Store

    run("score on-the-number 45 --save --player Ana")
    store = Store.open(home / "data" / "drillrunner.db")
    ana = store.player("Ana")
    assert ana is not None
    drill = load(folders()).drill("on-the-number")
    store.begin(ana.id, drill).append(read("44", drill.game().ask))
    store.close()
    assert run("score on-the-number 46 45 --save").code == 0
    assert [stored["ended"] for stored in run("history --json").json] == [
        "on the number",
        None,
        "on the number",
    ]


def test_a_metre_player_plays_the_nearest_whole_metre(run: Run, home: Path) -> None:
    from drillrunner.store.store import Store

    store = Store.open(home / "data" / "drillrunner.db")
    store.add_player("Ana", unit="m")
    store.close()
    said = run("score hold-the-corridor +18 +19 4 4 --save --json").json
    # 40 yd = 36.576 m (1 yd = 0.9144 m exactly; NIST SP 811): 18 is inside 37 / 2, 19 is not.
    assert said["score"] == 1
    (best,) = run("best --json").json
    assert (best["setting"]["aim"], best["setting"]["unit"]) == ({"width": 37}, "m")


def test_a_stock_carry_is_needed_or_set(run: Run, home: Path) -> None:
    from tests.catalogue.files import write

    write(
        home / "more",
        "stock.toml",
        """\
        id = "stock"
        title = "Stock"
        game = "on_the_number"
        club = "gap-wedge"
        aim = { carry = "stock" }
        """,
    )
    said = run(f"score stock 80 --games {home}/more")
    assert said.code == 2
    assert said.err.startswith("drillrunner: stock: first find your stock carry (Gap wedge")
    assert run(f"score stock 80 --set carry=80 --games {home}/more --json").json["score"] == 1
    # Whose tally it is says where the aim is, whether it is kept or not; the run keeps the number.
    from drillrunner.catalogue.places import database_default
    from drillrunner.store.store import Store

    with Store.open(database_default()) as store:
        ann = store.add_player("Ann")
        store.save_stock_carry(
            ann.id,
            "gap-wedge",
            "full",
            carry=Decimal(91),
            low=Decimal(89),
            high=Decimal(93),
            spread=Decimal(2),
            unit="yd",
            data={},
        )
    for more in ("", " --save"):
        scored = run(f"score stock 90 91 --games {home}/more --player Ann --json{more}").json
        assert (scored["score"], scored["over"]) == (2, True)
    (kept,) = run("history --json").json
    assert kept["setting"]["aim"] == {"carry": 91}


@pytest.mark.parametrize(
    "says",
    [
        "return Decimal('nan')",
        "return 0.5",
        "raise SystemExit(3)",
        "raise KeyboardInterrupt",
        "return 1 // (1 - state.balls)",
    ],
)
def test_a_game_that_fails_or_says_what_it_may_not_is_one_line(
    run: Run, home: Path, says: str
) -> None:
    source = "from decimal import Decimal\n" + GAME.replace("return state.held", says)
    game = write(home / "mine", "count.py", source)
    write(home / "mine", "mine.toml", changed('"lives"', '"count"').replace("lives = 2", "balls=3"))
    allowed.allow(game)
    for more in ([], ["--save", "--player", "Ann"]):
        said = run("score mine 5 5 --json --games", [str(home / "mine"), *more])
        assert (said.code, said.out) == (2, "")
        assert "the game raised" in said.err
        assert str(game) in said.err
        assert said.err.count("\n") == 1
    assert run("history --json").json == []


def test_a_wrong_entry_with_a_dash_is_named_by_its_place(run: Run) -> None:
    said = run("score miss-total -15 -x 5")
    assert said.code == 2
    assert said.err.startswith("drillrunner: entry 2 ('-x'): means nothing here")
