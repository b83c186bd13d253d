"""The demo's journal: remade byte for byte from its seed, and read with the line of each fault."""

from __future__ import annotations

import pytest
from scipy import stats

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.rules import Kind
from drillrunner.services.demo_journal import JOURNAL, BadJournal, parse_journal, write
from tests.demo import remake

EVENING = "2026-03-02T19:29:00+02:00"


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load([bundled("games")])


@pytest.fixture(scope="module")
def text() -> str:
    return (bundled("demo_data") / JOURNAL).read_bytes().decode()


def test_the_command_in_its_header_remakes_it_byte_for_byte(text):
    assert "python -m tests.demo.remake" in text.splitlines()[1]
    assert remake.remade() == text
    assert len(text) < 60_000


def test_reading_and_writing_it_is_the_identity(text, catalogue):
    assert write(parse_journal(text, catalogue), remake.HEADER) == text


def test_it_holds_weeks_of_three_players_with_every_kind_of_entry(text, catalogue):
    journal = parse_journal(text, catalogue)
    assert len(journal.players) == 3
    assert (journal.runs[-1].at - journal.runs[0].at).days > 40
    assert [part.at for part in journal.parts] == sorted(part.at for part in journal.parts)
    runs = [played.run() for played in journal.runs]
    assert {entry.kind for run in runs for entry in run.entries} == set(Kind)
    assert [run.over for run in runs[:-1]] == [True] * (len(runs) - 1)
    assert not runs[-1].over, "one run waits to be gone on with"
    assert sum(run.given_up for run in runs) == 1
    for name in ("hold-the-corridor", "miss-total", "on-the-number"):
        for person in journal.players:
            mine = [p for p in journal.runs if (p.player, p.drill.id) == (person.name, name)]
            assert len(mine) >= 5


def test_the_better_player_scores_better_and_one_improves(text, catalogue):
    def average(name: str, drill: str, part: slice = slice(None)) -> float:
        played = [p for p in journal.runs if (p.player, p.drill.id) == (name, drill) and not p.sets]
        finished = [run for p in played if (run := p.run()).finished and run.score is not None]
        scores = [float(run.score) for run in finished][part]
        return sum(scores) / len(scores)

    journal = parse_journal(text, catalogue)
    assert average("Ines", "miss-total") < average("Tobi", "miss-total")
    assert average("Tobi", "miss-total") < average("Mara", "miss-total")
    early, late = slice(12), slice(12, None)
    assert average("Tobi", "hold-the-corridor", early) < average("Tobi", "hold-the-corridor", late)


def test_the_spread_is_students_t_with_four_degrees_of_freedom():
    """Against SciPy's quantiles of t with 4 degrees of freedom."""

    class Fixed:
        def __init__(self, p: float) -> None:
            self.p = p

        def random(self) -> float:
            return self.p

    for p in (0.001, 0.025, 0.2, 0.5, 0.7, 0.975, 0.9999):
        assert remake.t4(Fixed(p)) == pytest.approx(stats.t(4).ppf(p), rel=1e-6, abs=1e-7)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("walk 3", "line 2: expected player, run, session, block, match, round or an entry"),
        ("run 2026-03-02T17:29:00+02:00 Nobody miss-total", "line 2: no player 'Nobody' above"),
        ("run yesterday Ines miss-total", "line 2: .*yesterday"),
        ("run 2026-03-02T17:29:00+02:00 Ines miss-totl", "line 2: no drill 'miss-totl'"),
        ("run 2026-03-02T17:29:00+02:00 Ines", "line 2: expected more words"),
        ("run 2026-03-02T17:29:00+02:00 Ines miss-total balls=0", "line 2: .*balls"),
        ("  3 5", "line 2: expected a run, session, match or round before"),
        ("player Tobi index", "line 2: expected FIELD=VALUE"),
        ("session 2026-03-02T17:29:00+02:00 Nobody plan", "line 2: no player 'Nobody' above"),
        ("block free 5 5", "line 2: expected a session before its blocks"),
        ("match 2026-03-02T17:29:00+02:00 miss-total lap", "line 2: 'lap': expected one of ball"),
        (f"round {EVENING} Ines nowhere white full 1 9", "line 2: .*no course 'nowhere'"),
        (f"round {EVENING} Ines larch-bottom red full 1 9", "line 2: .*no tee 'red'"),
        (f"round {EVENING} Ines larch-bottom white some 1 9", "line 2: 'some': expected one of"),
        (f"round {EVENING} Ines larch-bottom white full 1 19", "line 2: expected holes from 1 to"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(wrong, said, catalogue):
    with pytest.raises(BadJournal, match=said):
        parse_journal(f"player Ines\n{wrong}\n", catalogue)


def test_an_entry_that_cannot_be_taken_is_named(catalogue):
    head = "player Ines\nrun 2026-03-02T17:29:00+02:00 Ines hold-the-corridor\n"
    with pytest.raises(BadJournal, match="line 4: '15'"):
        parse_journal(f"{head}     0 5\n     9 15\n", catalogue).runs[0].run()
    with pytest.raises(BadJournal, match="line 3: nothing to undo"):
        parse_journal(f"{head}     0 *\n", catalogue).runs[0].run()


@pytest.mark.parametrize(
    ("block", "said"),
    [
        ("block nap 5 5", "line 3: 'nap': expected one of warm-up"),
        ("block find 5 5 clubs=9-iron", "line 3: 'clubs': expected one of drill"),
        ("block drill 5 5 drill=miss-totl", "line 3: no drill 'miss-totl'"),
        ("block drill 5 few drill=miss-total", "line 3: .*few"),
    ],
)
def test_a_block_that_cannot_be_read_is_named(block, said, catalogue):
    head = "player Ines\nsession 2026-03-02T17:29:00+02:00 Ines plan\n"
    with pytest.raises(BadJournal, match=said):
        parse_journal(f"{head}{block}\n", catalogue)


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ("5 150 5 20 2 =", "line 3: expected 2 holes"),
        ("5 150 5 20 2 =\n 9 5 200 9", "line 4: expected an answer more, left"),
        ("5 150 5 20 2 =\n 9 8 200 9", "line 4: '8': 8 means nothing here"),
        ("5 150 5 20 2 =\n 9 5 200 5 20 2 9", "line 4: '9': score: expected 5"),
    ],
)
def test_a_hole_that_cannot_be_told_so_is_named(answers, said, catalogue):
    head = f"player Ines\nround {EVENING} Ines larch-bottom white full 1 2\n"
    (part,) = parse_journal(f"{head} 3 {answers}\n", catalogue).parts
    with pytest.raises(BadJournal, match=said):
        part.holes()
