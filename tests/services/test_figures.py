"""The figures of history, stock carries, summary and report, each worked out by another way.

The other way reads the demo's tables with plain `sqlite3` and counts what was typed, by hand or in
SQL: none of the program's own rules, folds or queries.
"""

from __future__ import annotations

import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import median, median_high, median_low
from typing import NamedTuple

import pytest
from scipy import stats

from drillrunner.practice.carries.stock import table
from drillrunner.practice.looking_back.progress import points, setting_facts
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.services import report
from drillrunner.services.demo import build
from drillrunner.services.ledger import look_back
from drillrunner.store.store import Store
from tests.practice.worlds import NO_DRILLS

NOW = datetime(2026, 5, 2, 12, tzinfo=UTC)
SINCE = datetime(2026, 4, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("figures") / "demo.db"
    build(path, NOW.date())
    return path


@pytest.fixture(scope="module")
def rows(path: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(path)
    connection.row_factory = sqlite3.Row
    yield connection
    connection.close()


@pytest.fixture(scope="module")
def store(path: Path) -> Iterator[Store]:
    with Store.open(path, lambda: NOW) as opened:
        yield opened


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


class Typed(NamedTuple):
    """A run as it was typed: the balls that count, how many are void, the undos, and when those
    balls that were not taken back were typed, the ones in between too."""

    balls: list[str]
    void: int
    undone: int
    times: list[datetime]


def typed_in(rows: sqlite3.Connection, run: int) -> Typed:
    """A stack: an undo takes back the act before it, a void takes out the last ball that counts."""
    balls: list[list[str]] = []
    acts: list[list[str]] = []
    undone = 0
    for kind, text, when in rows.execute(
        "SELECT kind, text, at FROM entry WHERE run = ? ORDER BY seq", [run]
    ):
        if kind in ("shot", "between"):
            balls.append([text, "counts" if kind == "shot" else "between", when])
            acts.append(balls[-1])
        elif kind == "void":
            last = next(ball for ball in reversed(balls) if ball[1] == "counts")
            last[1] = "void"
            acts.append(last)
        elif kind == "undo":
            undone += 1
            last = acts.pop()
            last[1] = "counts" if last[1] == "void" else "gone"
    found = Counter(state for _, state, _ in balls)
    return Typed(
        [text for text, state, _ in balls if state == "counts"],
        found["void"],
        undone,
        [at(when) for _, state, when in balls if state != "gone"],
    )


def score(game: str, setting: dict, typed: list[str]) -> float | None:
    """The score by hand: held balls, summed misses, balls up to the first on the number."""
    if game == "lives":
        return typed.count("5")
    if game == "miss_total":
        cap = setting["settings"].get("cap") or 10_000
        return sum(min(abs(int(text)) if text not in "+-" else cap, cap) for text in typed)
    reach = setting["settings"]["tolerance"] + 0.5
    on = [
        number
        for number, text in enumerate(typed, 1)
        if -reach <= float(text) - setting["aim"]["carry"] < reach
    ]
    return on[0] if on else None


def test_history_each_run_as_it_was_typed(store: Store, rows: sqlite3.Connection) -> None:
    games: Counter[str] = Counter()
    for run in rows.execute(
        "SELECT run.*, game, as_set FROM run JOIN drill_as_set AS d ON d.number = run.drill_as_set"
    ):
        typed = typed_in(rows, run["number"])
        told = store.run(run["id"])
        assert told is not None
        assert (told.counted, told.voided, told.undone) == (
            len(typed.balls),
            typed.void,
            typed.undone,
        )
        if run["finished"] and run["game"] in ("lives", "miss_total", "on_the_number"):
            games[run["game"]] += 1
            by_hand = score(run["game"], json.loads(run["as_set"]), typed.balls)
            assert told.score == by_hand, (run["drill"], typed.balls)
    assert set(games) == {"lives", "miss_total", "on_the_number"}
    assert sum(games.values()) > 100


def scores_of(
    rows: sqlite3.Connection, player: str, since: str = ""
) -> dict[str, list[tuple[str, float | None, str]]]:
    """Of each drill as set the finished runs, oldest first: id, score, which way is better."""
    found = defaultdict(list)
    for fingerprint, id, scored, better in rows.execute(
        "SELECT run.fingerprint, run.id, run.score / 100.0, better FROM run"
        " JOIN drill_as_set AS d ON d.number = run.drill_as_set"
        " JOIN player ON player.number = run.player"
        " WHERE finished AND NOT decider AND player.name = ? AND run.started >= ?"
        " ORDER BY run.number",
        [player, since],
    ):
        found[fingerprint].append((id, scored, better))
    return found


def typical(scores: list[float | None], better: str) -> float | None:
    """The median, of an even number the worse one; no score lies behind all."""
    worst = float("-inf") if better == "higher" else float("inf")
    known = [worst if one is None else one for one in scores]
    middle = (median_low if better == "lower" else median_high)(known)
    return None if middle == worst else middle


@pytest.mark.parametrize("player", ["Ines", "Tobi", "Mara"])
def test_history_bests_and_typical_scores(
    store: Store, rows: sqlite3.Connection, player: str
) -> None:
    someone = store.player(player)
    assert someone is not None
    settings = scores_of(rows, player)
    assert len(settings) >= 3
    for fingerprint, runs in settings.items():
        history = store.history(None, someone.id, fingerprint=fingerprint)
        records = []
        for number, (id, own, better) in enumerate(runs):
            before = [s for _, s, _ in runs[:number] if s is not None]
            if own is not None and all(own > s if better == "higher" else own < s for s in before):
                records.append(id)
        assert [point.run.run for point in points(history) if point.record] == records
        facts, better = setting_facts(history), runs[0][2]
        known = [s for _, s, _ in runs if s is not None]
        assert facts.best == ((max if better == "higher" else min)(known) if known else None)
        assert facts.typical == typical([s for _, s, _ in runs], better)
        (begun,) = rows.execute(
            "SELECT count(*) FROM run JOIN player ON player.number = run.player"
            " WHERE fingerprint = ? AND name = ? AND NOT decider",
            [fingerprint, player],
        ).fetchone()
        assert facts.runs - sum(run.decider for run in history) == begun


def test_stock_carries(store: Store, rows: sqlite3.Connection) -> None:
    ines = store.player("Ines")
    assert ines is not None
    newest = {
        (row["club"], row["swing"]): row
        for row in rows.execute("SELECT * FROM stock_carry WHERE player = 1 ORDER BY number")
    }
    rising = sorted(newest.values(), key=lambda row: row["carry"])
    shown = table(store.stock_carries(ines.id), NOW)
    assert [(row.stock.club, row.stock.swing) for row in shown] == [
        (row["club"], row["swing"]) for row in rising
    ]
    two_in_three = stats.norm.ppf(5 / 6)
    for told, row, longer in zip(shown, rising, [*rising[1:], None], strict=True):
        data = json.loads(row["data"])
        kept = [float(c) for c, keeps in zip(data["carries"], data["kept"], strict=True) if keeps]
        # The carry lies by the trimmed mean and within its own interval; the spread is n - 1.
        assert abs(float(told.stock.carry) - stats.trim_mean(kept, 0.2)) <= 1.5
        assert told.stock.low <= told.stock.carry + 1
        assert told.stock.carry - 1 <= told.stock.high
        assert float(told.stock.spread) == pytest.approx(stats.tstd(kept), abs=0.006)
        assert told.stale == ((NOW - at(row["at"])).days >= 90)
        if longer is None:
            assert (told.gap, told.uncovered, told.overlaps) == (None, None, False)
            continue
        gap = (longer["carry"] - row["carry"]) / 100
        assert float(told.gap) == gap
        reach = (row["spread"] + longer["spread"]) / 100 * two_in_three
        assert float(told.uncovered) == pytest.approx(max(gap - reach, 0.0), abs=1e-4)
        assert told.overlaps == (longer["low"] <= row["high"])


def test_summary_of_each_session(store: Store, rows: sqlite3.Connection) -> None:
    infos = store.sessions()
    assert len(infos) == 4
    for info in infos:
        events = rows.execute(
            "SELECT kind, at, data FROM session_event JOIN session ON session.number ="
            " session_event.session WHERE session.id = ? ORDER BY seq",
            [info.id],
        ).fetchall()
        told = look_back(store, info, changes=False)
        loose = [json.loads(e["data"]) for e in events if e["kind"] in ("ball", "carry")]
        runs = rows.execute(
            "SELECT * FROM run WHERE session_id = ? ORDER BY number", [info.id]
        ).fetchall()
        played = [typed_in(rows, run["number"]) for run in runs]
        hit = sum(len(one.times) for one in played)
        assert told.balls == sum(int(data.get("count", 1)) for data in loose) + hit
        spent = json.loads(events[-1]["data"])["spent"]
        assert told.minutes == pytest.approx(spent / 60)
        assert sum(block.minutes for block in told.blocks) == pytest.approx(told.minutes)
        assert sum(block.balls for block in told.blocks) == told.balls
        times = [[at(e["at"]) for e in events if e["kind"] in ("ball", "carry")]]
        times += [one.times for one in played]
        steps = [(b - a).total_seconds() for series in times for a, b in pairwise(series)]
        assert told.pace == pytest.approx(median(s for s in steps if 0 < s <= 120))
        assert [p.run.score for block in told.blocks for p in block.played] == [
            None if run["score"] is None else run["score"] / 100 for run in runs
        ]
        first = json.loads(events[0]["data"])
        assert (told.planned_minutes, told.planned_balls) == (first["minutes"], first["balls"])


def test_report_days_and_drills(store: Store, rows: sqlite3.Connection) -> None:
    ines = store.player("Ines")
    assert ines is not None
    page = report.gather(store, ines, Covered(SINCE), NOW, NO_DRILLS)
    by_day: Counter[date] = Counter()
    for run in rows.execute("SELECT * FROM run WHERE player = 1"):
        day = (at(run["started"]) + timedelta(minutes=run["started_offset"])).date()
        typed = typed_in(rows, run["number"])
        by_day[day] += len(typed.balls) + typed.void
    for event in rows.execute(
        "SELECT session_event.* FROM session_event JOIN session ON session.number ="
        " session_event.session WHERE player = 1 AND kind IN ('ball', 'carry')"
    ):
        day = (at(event["at"]) + timedelta(minutes=event["at_offset"])).date()
        by_day[day] += json.loads(event["data"]).get("count", 1)
    assert {day.day: day.balls for day in page.days} == {
        day: balls for day, balls in by_day.items() if day >= SINCE.date()
    }
    assert sum(week.total for week in page.weeks) == sum(day.balls for day in page.days)
    whole, fresh = scores_of(rows, "Ines"), scores_of(rows, "Ines", SINCE.strftime("%Y-%m-%d"))
    assert len(page.drills) == len(fresh)
    for part in page.drills:
        fingerprint = part.points[0].run.fingerprint
        every, recent = whole[fingerprint], fresh[fingerprint]
        best = max if part.better == "higher" else min
        known = [s for _, s, _ in every if s is not None]
        ids = {id for id, _, _ in recent}
        earlier = [s for id, s, _ in every if id not in ids and s is not None]
        assert part.best == (best(known) if known else None)
        assert part.before == (best(earlier) if earlier else None)
        assert part.typical == typical([s for _, s, _ in recent], part.better)
        assert [point.run.run for point in part.fresh] == [id for id, _, _ in recent]
