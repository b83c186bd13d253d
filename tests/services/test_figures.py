"""The figures of history, stock carries, summary and report, each worked out by another way.

The other way reads the demo's tables with plain `sqlite3` and counts what was typed, by hand or in
SQL: none of the program's own rules, folds or queries.
"""

from __future__ import annotations

import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import groupby, pairwise
from pathlib import Path
from statistics import median, median_high, median_low
from typing import NamedTuple

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.change import BY_COUNT, BY_ROOT, STEEP
from drillrunner.odds.luck import best_by_luck, judged
from drillrunner.odds.portrait import FINISHES
from drillrunner.practice.carries.stock import table
from drillrunner.practice.looking_back.progress import points, setting_facts
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.services import report
from drillrunner.services.demo import build
from drillrunner.services.ledger import look_back
from drillrunner.services.typical import typical_score
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


@pytest.fixture(scope="module")
def page(store: Store) -> report.Report:
    ines = store.player("Ines")
    assert ines is not None
    return report.gather(store, ines, Covered(SINCE), NOW, NO_DRILLS)


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


def test_report_days_and_drills(page: report.Report, rows: sqlite3.Connection) -> None:
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


def told_at_40(setting: dict, text: str) -> bool | None:
    """Whether a drive surely finished within 20 yards of the line, by what was typed."""
    if text.lstrip("+-").isdigit() and (text[0] in "+-" or "width" not in setting["aim"]):
        return abs(int(text)) <= 20
    if text in "+-":
        return False
    if text in "528":
        return True if setting["aim"]["width"] <= 40 else None
    return False if setting["aim"]["width"] >= 40 else None


def test_report_counts_beside_the_pattern(page: report.Report, rows: sqlite3.Connection) -> None:
    side = next(part.side for part in page.patterns if part.club == "driver")
    drives: list[bool | None] = []
    for run in rows.execute(
        "SELECT run.number, as_set FROM run JOIN drill_as_set AS d ON d.number = run.drill_as_set"
        " WHERE player = 1 ORDER BY run.number DESC"
    ):
        setting = json.loads(run["as_set"])
        if setting["club"] == "driver":
            balls = typed_in(rows, run["number"]).balls
            drives += [told_at_40(setting, text) for text in reversed(balls)]
    assert side.shots == len(drives)
    told = [drive for drive in drives[:FINISHES] if drive is not None]
    at = [width for width, _, _ in side.inside].index(40)
    assert (side.counted[at].inside, side.counted[at].of) == (sum(told), len(told))
    assert 0 < sum(told) < len(told)


def wealth(daily: Sequence[float], sign: int) -> float:
    """What betting on ranks came to: each rank counted anew, each rate's product by itself."""
    draws = np.random.default_rng(1).random(len(daily))
    scores = []
    for at, value in enumerate(daily):
        below = sum(other < value for other in daily[:at])
        same = sum(other == value for other in daily[: at + 1])
        scores.append(stats.norm.ppf((below + draws[at] * same) / (at + 1)))
    came_to = []
    for rate, root in [*((c, 1.0) for c in BY_COUNT), *((c, 0.5) for c in BY_ROOT)]:
        stakes = np.minimum(rate * np.arange(len(daily)) ** root, STEEP)
        came_to.append(np.prod(stats.norm.pdf(scores, sign * stakes) / stats.norm.pdf(scores)))
    return float(np.mean(came_to))


def test_the_luck_line_and_the_best_by_luck(store: Store, rows: sqlite3.Connection) -> None:
    judgements = 0
    for name in ("Ines", "Tobi", "Mara"):
        player = store.player(name)
        assert player is not None
        for fingerprint, runs in scores_of(rows, name).items():
            better = runs[0][2]
            worst = -np.inf if better == "higher" else np.inf
            sign = 1 if better == "higher" else -1
            values = [sign * (worst if s is None else s) for _, s, _ in runs]
            history = points(store.history(None, player.id, fingerprint=fingerprint))
            days = [point.run.started.date() for point in history]
            luck = judged([point.run.score for point in history], better, days=days)
            assert luck.runs == len(values)
            daily = []
            for _, together in groupby(zip(days, values, strict=True), lambda pair: pair[0]):
                ordered = sorted(value for _, value in together)
                daily.append(ordered[len(ordered) // 2])
            assert luck.days == len(daily)
            if len(daily) >= 10:
                judgements += 1
                risen, fallen = wealth(daily, 1), wealth(daily, -1)
                assert luck.chance == pytest.approx(min(1 / max(risen, fallen), 1.0), rel=1e-6)
                told = (
                    None if max(risen, fallen) < 10 else ("better" if risen > fallen else "worse")
                )
                assert luck.way == told
            by_luck = best_by_luck([point.run.score for point in history], better)
            for taken, value in enumerate(by_luck, 1):
                # Half or more of all who make these scores in any order have reached it by then.
                goal = -np.inf if value is None else sign * float(value)
                good = sum(one >= goal for one in values)
                assert stats.hypergeom.sf(0, len(values), good, taken) >= 0.5 - 1e-9
                beyond = sum(one > goal for one in values)
                assert stats.hypergeom.sf(0, len(values), beyond, taken) < 0.5 + 1e-9
            by_hand = typical([s for _, s, _ in runs], better)
            assert typical_score(store, player.id, fingerprint) == by_hand
    assert judgements >= 2
