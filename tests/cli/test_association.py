"""What an association may choose: kept in a file, read by all who work out an index."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.practice.rounds.handicap import USUAL, Options
from drillrunner.services import association
from drillrunner.services.rounds import player_rounds
from drillrunner.store.round_book import NewRound
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.cli.run import Run

ALL = Options({1: Decimal(-2), 2: Decimal("-1.5")}, 20, "rounded", False, Decimal(1))


def test_without_a_file_all_is_as_usual(tmp_path: Path) -> None:
    assert association.load(tmp_path / "nowhere") == (USUAL, None)


@pytest.mark.parametrize("chosen", [USUAL, ALL, Options({2: Decimal(0)}, allowance=Decimal("0.9"))])
def test_what_was_kept_is_read_again(tmp_path: Path, chosen: Options) -> None:
    association.keep_options(chosen, tmp_path)
    assert association.load(tmp_path) == (chosen, None)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("low_from = 2", "association.toml:1: low_from: expected"),
        ("\nallowance = 95", "association.toml:2: allowance: expected"),
        ("from_one = '2'", "association.toml:1: from_one: expected a number"),
        ("exceptional = 'never'", "association.toml:1: exceptional: expected"),
        ("par = true", "association.toml:1: par: "),
        ("from_one = nan", "association.toml:1: from_one: "),
        ("= 3", "association.toml:1: "),
    ],
)
def test_a_file_that_can_not_be_used_is_told_and_changes_nothing(
    tmp_path: Path, text: str, said: str
) -> None:
    association.options_file(tmp_path).write_text(text)
    found, wrong = association.load(tmp_path)
    assert found == USUAL
    assert said in str(wrong)


def test_an_index_from_one_score_where_the_association_says_so(run: Run, tmp_path: Path) -> None:
    with Store.open(tmp_path / "shots.db", throwaway=True) as store:
        player = store.add_player("Ines")
        _from_one_score(store, player, run, tmp_path / "scores.csv")


def _from_one_score(store: Store, player: PlayerInfo, run: Run, path: Path) -> None:
    ines = player.id
    day = date(2026, 5, 1)
    told = {"gross": 92, "rating": 72, "slope": 113}
    store.rounds.add(ines, NewRound(day, "score", data=told, told=[("finished", {})]))
    assert player_rounds(store, player).record.index is None
    association.keep_options(ALL)
    # 92 less 72 on a course of standard slope, and what the association adds to it.
    assert player_rounds(store, player).record.index == Decimal("18.0")
    path.write_text("date,gross,rating,slope\n2026-05-01,92,72,113\n")
    assert run("index --json --scores", [str(path)]).json["index"] == 18
    second = {**told, "gross": 90}
    new = NewRound(day + timedelta(1), "score", data=second, told=[("finished", {})])
    store.rounds.add(ines, new)
    assert player_rounds(store, player).record.index == Decimal("16.5")
    association.options_file().write_text("from_one = 'two'")
    said = run("index --scores", [str(path)])
    assert "from_one: expected a number, not 'two'; what is usual is taken" in said.err
    assert "3 scores make one" in said.out
