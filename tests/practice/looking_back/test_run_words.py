"""What a run says of itself, against published values and plain counting.

NIST StRD, univariate: certified means and standard deviations (n-1) of Michelso, Mavro, Lew,
NumAcc3 and NumAcc4. The certified values were read in the source; the data of Michelso, Mavro and
Lew, and the layout of the NumAcc sets, are from memory, and are right only if they meet the
certified values to the last digit, which is what is checked here.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from drillrunner.catalogue.loader import bundled, load
from drillrunner.practice.looking_back.run_words import (
    against_best,
    elapsed_words,
    last_words,
    mean_and_spread,
    pattern_words,
    resumed_words,
    run_lines,
    time_played,
    to_beat,
)
from drillrunner.rules import Aim, Ball, Entry, Kind, Run
from drillrunner.rules.keypad import read
from drillrunner.rules.station import Ask

MICHELSO = """850 740 900 1070 930 850 950 980 980 880 1000 980 930 650 760 810 1000 1000 960 960
960 940 960 940 880 800 850 880 900 840 830 790 810 880 880 830 800 790 760 800
880 880 880 860 720 720 620 860 970 950 880 910 850 870 840 840 850 840 840 840
890 810 810 820 800 770 760 740 750 760 910 920 890 860 880 720 840 850 850 780
890 840 780 810 760 810 790 810 820 850 870 870 810 740 810 940 950 800 810 870"""
MAVRO = """180 170 180 190 180 170 150 140 150 150 170 180 180 190 190 210 200 160 140 130 130 150
150 160 150 140 130 140 150 140 150 160 150 160 190 200 200 210 220 230 240 250 270 260 260 260 270
260 250 240"""
LEW = """-213 -564 -35 -15 141 115 -420 -360 203 -338 -431 194 -220 -513 154 -125 -559 92 -21 -579
-52 99 -543 -175 162 -457 -346 204 -300 -474 164 -107 -572 -8 83 -541 -224 180 -420 -374 201 -236
-531 83 27 -564 -112 131 -507 -254 199 -311 -495 143 -46 -579 -90 136 -472 -338 202 -287 -477 169
-124 -568 17 48 -568 -135 162 -430 -422 172 -74 -577 -13 92 -534 -243 194 -355 -465 156 -81 -578 -64
139 -449 -384 193 -198 -538 110 -44 -577 -6 66 -552 -164 161 -460 -344 205 -281 -504 134 -28 -576
-118 156 -437 -381 200 -220 -540 83 11 -568 -160 172 -414 -408 188 -125 -572 -32 139 -492 -321 205
-262 -504 142 -83 -574 0 48 -571 -106 137 -501 -266 190 -391 -406 194 -186 -553 83 -13 -577 -49 103
-515 -280 201 300 -506 131 -45 -578 -80 138 -462 -361 201 -211 -554 32 74 -533 -235 187 -372 -442
182 -147 -566 25 68 -535 -244 194 -351 -463 174 -125 -570 15 72 -550 -190 172 -424 -385 198 -218
-536 96"""

SETS = {
    "Michelso": (
        [Decimal(v) / 1000 + 299 for v in MICHELSO.split()],
        "299.8524",
        "0.0790105478190518",
    ),
    "Mavro": ([Decimal(v) / 100000 + 2 for v in MAVRO.split()], "2.001856", "0.000429123454003053"),
    "Lew": ([Decimal(v) for v in LEW.split()], "-177.435", "277.332168044316"),
    "NumAcc3": (
        [Decimal("1000000.2"), *[Decimal("1000000.1"), Decimal("1000000.3")] * 500],
        "1000000.2",
        "0.1",
    ),
    "NumAcc4": (
        [Decimal("10000000.2"), *[Decimal("10000000.1"), Decimal("10000000.3")] * 500],
        "10000000.2",
        "0.1",
    ),
}


@pytest.mark.parametrize("name", SETS)
def test_mean_and_spread_meet_the_certified_values(name: str) -> None:
    data, centre, spread = SETS[name]
    mean, sd = mean_and_spread(data)
    assert mean == Decimal(centre)
    assert sd is not None
    assert f"{sd:.15g}" == f"{Decimal(spread):.15g}"


def test_a_single_value_has_no_spread() -> None:
    assert mean_and_spread([Decimal(7)]) == (Decimal(7), None)


MISS = Ask("miss", Aim(), Decimal(5), lost_counts=Decimal(40))
CORRIDOR = Ask("verdict", Aim(width=Decimal(40)), Decimal(5))
WINDOW = Ask("verdict", Aim(width=Decimal(16), depth=Decimal(10)), Decimal(5))
NUMBER = Ask("carry", Aim(carry=Decimal(45)), Decimal(1), direction="depth")


def said(ask: Ask, typed: str) -> tuple[str, ...]:
    """The pattern of balls typed so."""
    shots = [read(text, ask).shot for text in typed.split()]
    return pattern_words([Ball(shot, ask) for shot in shots if shot is not None])


def test_bias_and_spread_speak_only_of_what_was_typed() -> None:
    # From six balls on: mean -5, deviations -10 10 5 -5 -10 10, so sd = sqrt(450 / 5) = 9.49,
    # which holds about two in three (68 %) of a normal law.
    assert said(MISS, "-15 +5 0 -10 -15 +5") == (
        "on average 5 yd left, over 6 balls",
        "about two in three within 9.5 yards of that",
    )
    assert said(MISS, "-15 +5 0 -10") == (
        "on average 5 yd left, over 4 balls",
        "at most 20 yards apart",
    )
    assert said(MISS, "-15 +5 0 -10 15 lost") == (
        *said(MISS, "-15 +5 0 -10"),
        "2 balls without a side and a number left out of that",
    )
    assert said(NUMBER, "43 44 48") == (
        "on average dead on, over 3 balls",
        "at most 5 yards apart",
    )
    assert said(MISS, "-15") == ("too few balls with a side and a number to tell a bias",)
    assert said(MISS, "15 20 30") == said(MISS, "-15")
    assert said(MISS, "") == ()


def test_verdicts_are_counted_by_side() -> None:
    assert said(CORRIDOR, "5 5 4 8 6 0 2 9") == ("left 1, in 4, right 2, side not seen 1",)
    assert said(CORRIDOR, "5 +15 -25 +20") == (
        "left 1, in 3, right 0",
        "on average 3.3 yd right, over 3 balls",
        "at most 45 yards apart",
        "1 ball without a side and a number left out of that",
    )
    assert said(WINDOW, "5 7 9 1 8 0") == (
        "left 2, in 2, right 1, side not seen 1",
        "short 1, in 1, long 3, side not seen 1",
    )


@pytest.mark.parametrize(
    ("better", "best", "score", "words"),
    [
        ("higher", 9, 6, "to beat 9: 4 more"),
        ("higher", 9, 9, "to beat 9: 1 more"),
        ("higher", 9, 10, "9 is beaten: a new best when it ends"),
        ("lower", Decimal(120), Decimal(75), "to beat 120: at most 44 more"),
        ("lower", Decimal(120), Decimal("75.5"), "to beat 120: less than 44.5 more"),
        ("lower", 120, 120, "120 is out of reach"),
        ("lower", 7, None, "7 stays the best"),
        ("higher", Decimal("9.5"), 6, "to beat 9.5: over 3.5 more"),
        ("lower", None, 6, "no best yet: this run sets it"),
    ],
)
def test_what_there_is_to_beat(better: str, best: object, score: object, words: str) -> None:
    assert to_beat(better, best, score) == words  # type: ignore[arg-type]


def played(drill: str, typed: str, **kept: object) -> Run:
    """A run of a bundled drill."""
    g = load([bundled("games")]).drill(drill).game()
    return Run.fold(g, [read(text, g.ask) for text in typed.split()], **kept)  # type: ignore[arg-type]


def test_a_run_beside_the_best() -> None:
    run = played("hold-the-corridor", "5 5 4 4 4")
    assert against_best("higher", run, None).headline == "your first score: the one to beat"
    new = against_best("higher", run, 1)
    assert (new.headline, new.replaces, new.is_best) == (
        "a new best, by 1 more",
        "it replaces 1",
        True,
    )
    assert against_best("higher", run, 2).headline == "level with your best"
    assert not against_best("higher", run, 2).is_best
    assert against_best("higher", run, 9).headline == "7 short of your best"
    less = played("miss-total", "10 " * 10)
    assert against_best("lower", less, 120).headline == "a new best, by 20 less"
    assert against_best("lower", less, 90).headline == "10 over your best"
    none = played("on-the-number", "44 " * 20)
    assert against_best("lower", none, None).headline == "no score this time"
    gone = run.add(Entry(Kind.UNDO)).add(Entry(Kind.GIVE_UP))
    assert not against_best("higher", gone, None).is_best
    assert not against_best("higher", run, None, broken=True).is_best


def test_the_last_entry_in_words() -> None:
    run = played("miss-total", "-15 +35")
    assert resumed_words(run) == "35 right"
    assert resumed_words(run.add(Entry(Kind.UNDO))) == "undone: 35 right"
    void = run.add(Entry(Kind.VOID))
    assert last_words(run, void) == "void: 35 right"
    assert last_words(void, void.add(Entry(Kind.VOID))) == "void: 15 left"
    assert last_words(void, void.add(Entry(Kind.UNDO))) == "undone: void"
    assert last_words(run, run.add(Entry(Kind.NOTE, "wind"))) == "noted: wind"
    assert resumed_words(played("miss-total", "")) == ""


def test_every_shot_is_listed_with_its_state() -> None:
    run = played("miss-total", "-15 +35 undo 0 void +5").add(Entry(Kind.NOTE, "wind"))
    assert [(row.number, row.words, row.state) for row in run_lines(run)] == [
        (1, "15 left", "counts"),
        (None, "35 right", "undone"),
        (None, "dead on", "void"),
        (2, "5 right", "counts"),
        (None, "noted: wind", "note"),
    ]


def test_time_in_minutes_and_seconds() -> None:
    assert elapsed_words(timedelta(seconds=462.9)) == "07:42"
    assert elapsed_words(timedelta(minutes=75)) == "75:00"
    assert elapsed_words(timedelta(seconds=-3)) == "00:00"


def test_time_away_from_a_run_is_no_time_played() -> None:
    start = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)
    times = [start + timedelta(minutes=m) for m in (0, 1, 3, 600, 602)]
    assert time_played(times, times[-1] + timedelta(minutes=4)) == timedelta(minutes=9)
    assert time_played(times, times[-1] + timedelta(days=1)) == timedelta(minutes=5)
    # A clock set back in between takes nothing away.
    assert time_played([times[1], times[0], times[2]], times[2]) == timedelta(minutes=3)
