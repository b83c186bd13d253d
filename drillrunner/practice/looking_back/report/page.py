"""The page for a coach: one HTML file with its charts inside, no script, nothing fetched."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from html import escape
from itertools import count
from typing import TYPE_CHECKING, Any

from drillrunner.odds.green.words import LIE_TITLES, OTHER, chance_of, head, stroke_words
from drillrunner.odds.words import DENIED, aim_beside, band, count_of, share
from drillrunner.practice.looking_back.means import means_line
from drillrunner.practice.looking_back.report import charts
from drillrunner.practice.looking_back.report.parts import (
    DrillPart,
    PatternPart,
    Report,
    club_named,
)
from drillrunner.practice.rounds.words import NOT_THE_CLUBS, in_the_record
from drillrunner.practice.sessions.summary import Summary
from drillrunner.rules.score import Score
from drillrunner.rules.units import numbered, spoken, text

if TYPE_CHECKING:
    from drillrunner.odds.green.portrait import GreenSide

STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 62rem; padding: 12px; background: #fff; color: #111;
  font: 1rem/1.45 system-ui, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: .5rem 0; }
h2 { font-size: 1.3rem; margin: 2rem 0 .5rem; border-bottom: 3px solid #0072b2; }
h3 { font-size: 1.1rem; margin: 1.2rem 0 .2rem; }
p { margin: .3rem 0; }
.quiet { color: #4a4f55; }
.verdict { font-weight: bold; }
.parts { display: grid; gap: 0 2rem;
  grid-template-columns: repeat(auto-fill, minmax(min(100%, 21rem), 1fr)); }
section, article, figure, li { min-width: 0; }
figure { margin: .5rem 0; max-width: 30rem; }
figure svg { display: block; width: 100%; height: auto; }
figcaption { color: #4a4f55; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: .25rem .8rem .25rem 0; vertical-align: top;
  border-bottom: 1px solid #d5d9dd; overflow-wrap: normal; }
td.n, th.n { text-align: right; }
td:not(:first-child):not(:last-child) { white-space: nowrap; }
.scroll { overflow-x: auto; }
ul, ol { padding-left: 1.3rem; margin: .3rem 0; }
@page { size: A4; margin: 14mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 10pt; }
  article, figure, table, p, li { break-inside: avoid; }
  h2, h3 { break-after: avoid; }
  section:has(.parts) { break-before: page; }
  h2 { margin-top: 1rem; }
  figure { max-width: 72mm; }
  .parts { grid-template-columns: 1fr 1fr; }
}
""".strip()

SAFE = "default-src 'none'; style-src 'unsafe-inline'"
"""Nothing is fetched and nothing runs, whatever a name or a note may hold."""

CARE = (
    "These are figures of practice, computed from what was typed. They are no medical advice and "
    "no technical swing advice: ask a physician or a physiotherapist about what hurts, and a "
    "teaching professional about the swing."
)
HOW = (
    "● a run, ▲ the best when it was made, filled: of this page's days. Solid line: best so far; "
    "dashed: trend; dotted: where luck alone puts the best of half of all players with these "
    "scores in any order."
)
SEEN = (
    "A mark is a ball whose miss was typed as a number, a line one of which a zone was seen. "
    "Between the dashed lines two in three finish."
)

NO_BREAK = "\N{NO-BREAK SPACE}"

MOST_DAYS = 20
"""Days that are listed one by one."""

LAST = 12
"""Scores of a drill that are listed one by one."""

Describe = Callable[[Mapping[str, Any]], str]


def page(report: Report, describe: Describe) -> str:
    """The page. describe: a drill's setting in words."""
    title = f"Practice of {report.player.name}"
    return "".join(
        (
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n',
            f'<meta http-equiv="Content-Security-Policy" content="{SAFE}">\n',
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n',
            f"<title>{escape(title)}</title>\n<style>\n{STYLE}\n</style>\n</head>\n<body>\n",
            *_body(report, title, describe),
            "</body>\n</html>\n",
        )
    )


def _body(report: Report, title: str, describe: Describe) -> Iterator[str]:
    names = (f"c{number}" for number in count(1))
    yield f"<header>\n<h1>{escape(title)}</h1>\n{_p(_head(report))}</header>\n<main>\n"
    if report.empty:
        yield _p("Nothing was played in these days.")
    yield from _section("What to look at next", [_list(report.look_at, "ol")])
    yield from _section("Practice", _practice(report, names))
    yield from _section("Sessions", map(_session, report.sessions))
    yield from _section(
        "Scores against bests",
        [
            _p(HOW, "quiet"),
            _parts(_drill(part, describe, names, report.made) for part in report.drills),
        ],
        bool(report.drills),
    )
    yield from _section(
        "Where the shots finish",
        [_p(SEEN, "quiet"), _parts(_pattern(report, part, names) for part in report.patterns)],
        bool(report.patterns),
    )
    yield from _section("On the green", map(_green, report.greens), bool(report.greens))
    yield from _section("Stock carries", _stocks(report, names), bool(report.stocks))
    yield from _section("Rounds", _rounds(report), bool(report.rounds))
    yield f"</main>\n<footer>\n{_p(CARE, 'quiet')}</footer>\n"


# ---- the parts ----


def _head(report: Report) -> str:
    span, made = report.span, f"made {_day(report.made)}"
    if span.session is not None:
        what = f"The session of {_day(span.session.started)}"
    elif span.since is not None:
        what = f"Since {_day(span.since)}"
    else:
        what = "All there is"
    parts = [what, f"distances in {spoken(report.unit)}"]
    if report.player.index is not None:
        parts.append(f"handicap index {text(report.player.index)}")
    if report.player.hand is not None:
        parts.append(f"{report.player.hand}-handed")
    return " · ".join((*parts, made))


def _practice(report: Report, names: Iterator[str]) -> Iterator[str]:
    if not report.days:
        return
    balls = sum(day.balls for day in report.days)
    said = f"{numbered(balls, 'ball')} on {_count(len(report.days), 'day')}."
    yield _p(said)
    weeks = [f"week of {w.monday.day} {w.monday:%B}: {w.total}" for w in report.weeks]
    if len(report.weeks) > 1:
        svg = charts.practice(next(names), report.weeks, "Balls a week. " + ", ".join(weeks))
        yield _figure(svg, "Balls a week")
    shown = report.days[:MOST_DAYS]
    noted = any(day.about for day in shown)
    heads = ("day", "balls", "noted")[: 2 + noted]
    rows = [(_day_of(d.day, report.made), str(d.balls), d.about)[: len(heads)] for d in shown]
    yield _table(heads, rows, (1,))
    if len(report.days) > MOST_DAYS:
        yield _p(f"and {_count(len(report.days) - MOST_DAYS, 'day')} before these", "quiet")


def _session(summary: Summary) -> str:
    minutes = f"{summary.minutes:.0f} of {summary.planned_minutes} minutes"
    said = [minutes, f"{summary.balls} of {summary.planned_balls} balls"]
    said.append(summary.ended or "still open")
    if summary.pace is not None:
        said.append(f"{summary.pace:.0f} seconds a ball")
    rows = [
        (block.title, block.standing, f"{block.minutes:.0f} min", str(block.balls))
        for block in summary.blocks
    ]
    changes = [change.said for change in summary.changes]
    after = [f"next time: {line}" for line in summary.next_time]
    return (
        f"<article>\n<h3>{escape(_day(summary.started))}</h3>\n{_p(' · '.join(said))}"
        f"{_table(('block', '', 'time', 'balls'), rows, (2, 3))}"
        f"{_list((*summary.games, *changes, *after))}</article>\n"
    )


def _drill(part: DrillPart, describe: Describe, names: Iterator[str], made: date) -> str:
    way = "high is better" if part.better == "higher" else "low is better"
    facts = [_count(part.begun, "run") + " in these days"]
    if part.typical is not None and len(part.fresh) > 1:
        facts.append(f"half of them reach {text(part.typical)}")
    if (best := part.best) is not None:
        held = "" if part.before is None else f", {text(part.before)} before these days"
        facts.append(
            f"best {text(best)}" + (held if part.before != best else ", from before these days")
        )
    scores = ", ".join(_score(point.run.score) for point in part.points)
    chart = ""
    if sum(point.run.score is not None for point in part.points) > 1:
        says = f"Scores of {part.title}, oldest first: {scores}"
        chart = _figure(charts.score_chart(next(names), part, says), "")
    last = ", ".join(_score(point.run.score) for point in part.fresh[-LAST:])
    which = "These days" if len(part.fresh) <= LAST else f"The last {LAST} of these days"
    plain = means_line(part.points, made)
    notes = [f"{moment.day} {moment:%B}: {note}" for moment, note in part.notes]
    luck = part.luck
    usual = f"{luck.by_luck.low:.0f} to {luck.by_luck.high:.0f}"
    verdict = f"{luck.line[:1].upper()}{luck.line[1:]}"
    rests = f"{_count(luck.runs, 'finished run')}, {_count(luck.records, 'record')}"
    return (
        f"<article>\n<h3>{escape(part.title)}</h3>\n"
        f"{_p(f'{describe(part.setting)} · {way}', 'quiet')}"
        f"{_p(verdict, 'verdict')}{_p(' · '.join(facts))}{chart}"
        f"{_p(f'{which}, oldest first: {last}') if last else ''}"
        f"{_p(plain[:1].upper() + plain[1:]) if plain else ''}"
        f"{_p(f'{rests}; by luck alone {usual}', 'quiet')}{_list(notes)}</article>\n"
    )


def _green(side: GreenSide) -> str:
    rows = [
        (
            f"{text(row.length)} {side.measure}",
            band(row.holed),
            share(row.other),
            f"{row.inside} of {row.of}" if row.of else "",
            stroke_words(row),
            f"{row.other_strokes:.2f}",
        )
        for row in side.rows
    ]
    heads = ("from", chance_of(side), OTHER, "counted", "strokes", OTHER)
    return (
        f"<article>\n<h3>{LIE_TITLES[side.lie]}</h3>\n{_p(' · '.join(head(side)), 'quiet')}"
        f"{_table(heads, rows, ())}</article>\n"
    )


def _pattern(report: Report, part: PatternPart, names: Iterator[str]) -> str:
    side = part.side
    across = side.direction == "lateral"
    sides = ("left", "right") if across else ("short", "long")
    unit = report.unit
    where = f"{club_named(part.club, part.swing, report.clubs)}, "
    where += "off your calls" if side.calls else "left and right" if across else "short and long"
    if side.carry is not None:
        where += f" of {side.carry:.0f} {unit}"
    lines = [
        f"on average {_miss(side.bias.median, sides, unit)} "
        f"({_miss(side.bias.low, sides)} to {_miss(side.bias.high, sides)})",
        f"two in three within {side.half_width.median:.1f} {unit} of there "
        f"({side.half_width.low:.1f} to {side.half_width.high:.1f})",
    ]
    rows = [
        (
            f"{width} {unit}",
            band(found),
            count_of(tally) if tally.of else "",
            "" if aim is None else aim_beside(aim, side.direction),
            "by shape, not seen" if by_shape else "",
        )
        for (width, found, by_shape), tally, aim in zip(
            side.inside, side.counted, side.aims, strict=True
        )
    ]
    if side.shape is not None and not side.calls:
        lines.insert(0, side.shape)
    if side.change is not None:
        lines.append(side.change)
    if not side.calls and any(tally.off for tally in side.counted):
        lines.append(f"{DENIED} counted so that the chance does not agree")
    said = f"{'a guess so far' if side.guess else side.said} · from {_count(side.shots, 'shot')}"
    says = f"{where}: {'; '.join(lines)}"
    return (
        f"<article>\n<h3>{escape(where)}</h3>\n"
        f"{_p(said, 'verdict')}"
        f"{_figure(charts.pattern(next(names), side, says), f'the last {len(side.finishes)}')}"
        f"{_list(lines)}"
        f"{_table(('inside', 'chance', 'counted', '', ''), rows, ()) if across else ''}"
        f"{_p('in brackets: 8 in 10 sure', 'quiet')}</article>\n"
    )


def _stocks(report: Report, names: Iterator[str]) -> Iterator[str]:
    rows, unit = report.stocks, report.unit
    if not rows:
        return
    named = [club_named(row.stock.club, row.stock.swing, report.clubs) for row in rows]
    labels = [f"{row.stock.carry:.0f}" for row in rows]
    says = "; ".join(f"{name}: {label} {unit}" for name, label in zip(named, labels, strict=True))
    svg = charts.carries(next(names), rows, labels, f"Stock carries. {says}")
    yield _figure(
        svg,
        "The bar holds two shots in three. In the table: the bounds that are 8 in 10 sure, and "
        "the gap to the next longer one.",
    )
    table = [
        (
            name,
            f"{row.stock.carry:.0f}",
            f"{row.stock.low:.0f} to {row.stock.high:.0f}",
            _day_of(row.stock.at, report.made) + (", long ago" if row.stale else ""),
            "" if row.gap is None else f"{row.gap:.0f}" + (" ?" if row.overlaps else ""),
        )
        for name, row in zip(named, rows, strict=True)
    ]
    heads = ("swing", unit, "8 in 10", "found", "gap")
    yield _table(heads, table, (1, 4))
    if any(row.overlaps for row in rows):
        yield _p("? their bounds meet: they may be the same carry", "quiet")
    if report.strategy:
        yield _p(report.strategy)


# ---- words ----


def _rounds(report: Report) -> Iterator[str]:
    index = "" if report.index is None else f"Index {report.index}. "
    yield _p(f"{index}{NOT_THE_CLUBS}")
    rows = [
        (
            one.info.day.isoformat(),
            "score alone" if one.course is None else f"{one.course.title}, {one.info.tee}",
            "" if one.gross is None else str(one.gross),
            in_the_record(one),
        )
        for one in reversed(report.rounds)
    ]
    yield _table(("day", "course", "score", "for the index"), rows, (2,))


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%B %Y}"


def _day_of(day: date, made: datetime) -> str:
    """A day in a table; its year only if it is another than that of the page."""
    said = f"{day.day} {day:%b}" + ("" if day.year == made.year else f" {day.year}")
    return said.replace(" ", NO_BREAK)


def _count(number: int, what: str) -> str:
    return f"{numbered(number, what)}"


def _score(value: Score) -> str:
    return "none" if value is None else text(value)


def _miss(value: float, sides: tuple[str, str], unit: str = "") -> str:
    size = f"{abs(value):.1f}"
    side = "" if float(size) == 0 else sides[value > 0]
    return " ".join(filter(None, (size, unit, side)))


# ---- markup: every text is escaped here and nowhere else ----


def _section(title: str, parts: Iterable[str], there: bool = True) -> Iterator[str]:
    inside = "".join(parts) if there else ""
    if inside:
        yield f"<section>\n<h2>{escape(title)}</h2>\n{inside}</section>\n"


def _parts(articles: Iterable[str]) -> str:
    return f'<div class="parts">\n{"".join(articles)}</div>\n'


def _p(words: str, kind: str = "") -> str:
    about = f' class="{kind}"' if kind else ""
    return f"<p{about}>{escape(words)}</p>\n"


def _list(lines: Iterable[str], kind: str = "ul") -> str:
    items = "".join(f"<li>{escape(line)}</li>\n" for line in lines)
    return f"<{kind}>\n{items}</{kind}>\n" if items else ""


def _figure(svg: str, caption: str) -> str:
    said = f"<figcaption>{escape(caption)}</figcaption>\n" if caption else ""
    return f"<figure>\n{svg}{said}</figure>\n"


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]], numbers: Sequence[int]) -> str:
    """numbers: the columns that stand to the right."""

    def row(cells: Sequence[str], tag: str) -> str:
        right = ' class="n"'
        return "".join(
            f"<{tag}{right if at in numbers else ''}>{escape(cell)}</{tag}>"
            for at, cell in enumerate(cells)
        )

    body = "".join(f"<tr>{row(cells, 'td')}</tr>\n" for cells in rows)
    return f'<div class="scroll"><table>\n<tr>{row(heads, "th")}</tr>\n{body}</table></div>\n'
