"""How the screens say odds: a chance, what stands behind it, and the variants that fit a line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from drillrunner.odds.words import aim_beside, band, more_words, share
from drillrunner.rules.score import Score
from drillrunner.rules.units import numbered, text

if TYPE_CHECKING:
    from drillrunner.app.odds_worker import NextTime, Told
    from drillrunner.odds.counsel import AtAim, Within
    from drillrunner.odds.desk import Answer
    from drillrunner.odds.luck import Luck

OUT_OF_REACH = "out of reach"
WAITING = "…"
"""Stands where a figure is being worked out."""


def behind(shots: int, guess: bool) -> str:
    """What stands behind a figure."""
    count = f"{numbered(shots, 'shot')}"
    return f"a guess so far, {count}" if guess else f"from {count}"


def settled(answer: Answer) -> str:
    """`sure` or `out of reach` where no ball can change that any more; else empty."""
    if _by_promise(answer):
        return "sure" if answer.chance == 1.0 else OUT_OF_REACH
    return OUT_OF_REACH if answer.exact and answer.chance == 0.0 else ""


def _by_promise(answer: Answer) -> bool:
    """Whether the running score alone settles it, without a walk."""
    return answer.exact and answer.states == 1 and answer.if_in is None and answer.if_out is None


def chance_variants(told: Told, beat: Score, roomy: bool) -> list[str]:
    """What the play screen says of the chance, the longest first; the last one always fits.

    roomy: there is room for a second line.
    """
    stands = behind(told.shots, told.guess)
    beside = _beside(told)
    seconds = [f"{said} · {stands}" for said in beside] + [stands]
    if told.answer is None:
        if told.holds is None:
            return [f"your pattern: {stands}"]
        figure = f"a ball holds {band(told.holds)}"
        short = f"holds {share(told.holds.median)}"
        if roomy:
            return [f"{figure}\n{second}" for second in seconds]
        return [f"{figure} · {stands}", f"{short} · {stands}"]
    answer = told.answer
    figure, score = _figure(answer), text(beat or 0)
    whole = f"{figure} to beat {score}"
    nexts = _next_ball(answer)
    if figure == OUT_OF_REACH:
        if _by_promise(answer):
            return seconds  # The line above, on what there is to beat, says it.
        whole, nexts = f"{score} is {figure}", [""]
    if roomy:
        return [f"{whole}{said}\n{second}" for said in nexts for second in seconds]
    short = "guess" if told.guess else f"{numbered(told.shots, 'shot')}"
    within = "" if told.typical is None else _to_beat(told.typical)
    return [f"{start} · {within}" for start in (whole, figure) if within] + [
        f"{start}{said} · {end}"
        for said in nexts
        for start in (whole, figure)
        for end in (stands, short)
    ]


def _beside(told: Told) -> list[str]:
    """What stands before what the figure rests on, the longest first."""
    aim = "" if told.aim is None else aimed(told.aim)
    if told.typical is None:
        return [aim] if aim else []
    within = f"{_to_beat(told.typical)}, your typical"
    said = [f"{within} score", within, _to_beat(told.typical)]
    return [f"{within} score · {aim}", *said] if aim else said


def _to_beat(within: Within) -> str:
    return f"{_figure(within.answer)} to beat {text(within.score or 0)}"


def aimed(found: AtAim) -> str:
    """Where to aim, or nothing."""
    return "" if found.aim is None else aim_beside(found.aim, found.direction)


def next_lines(found: NextTime, beat: Score) -> list[str]:
    """What a result says of the next run, line by line."""
    lines = []
    if found.typical is not None and found.chance is not None:
        far = f"next time {share(found.chance)} to beat {text(beat or 0)}"
        lines.append(f"{far}, {_to_beat(found.typical)}, your typical score")
    if found.aim is not None:
        holds = f"a ball holds {band(found.aim.holds)}"
        told = (holds, aimed(found.aim), more_words(found.aim.more))
        lines.append(" · ".join(part for part in told if part))
    return lines


def _figure(answer: Answer) -> str:
    if said := settled(answer):
        return said
    if answer.exact:
        return share(answer.chance)
    return f"~ {share(answer.chance)} (± {max(answer.error * 100, 0.1):.1f})"


def _next_ball(answer: Answer) -> list[str]:
    """What the next ball does to the chance, the longest first; nothing if it does nothing."""
    if answer.if_in is None or answer.if_out is None:
        return [""]
    good, bad = share(answer.if_in), share(answer.if_out)
    if answer.within is None:
        return [f" · next in: {good}, out: {bad}", f" · in: {good}, out: {bad}", ""]
    within = f"within {text(answer.within)}: {good}, else {bad}"
    return [f" · next {within}", f" · {within}", ""]


def fitting(variants: Iterable[str], width: int) -> str:
    """The first variant whose lines all fit, else the last one."""
    said = ""
    for said in variants:
        if max(map(len, said.split("\n"))) <= width:
            break
    return said


def luck_line(luck: Luck) -> str:
    """What a history says, in two lines: the judgement, then what it rests on."""
    low, high = luck.by_luck.low, luck.by_luck.high
    usual = f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
    parts = [f"records {luck.records}, by luck alone {usual}"]
    if luck.trend is not None:
        slope, least, most = (_signed(value) for value in luck.trend)
        parts.append(f"trend {slope} a run ({least} to {most})")
    return f"luck or progress? {luck.line}\n{' · '.join(parts)}"


def _signed(value: float) -> str:
    rounded = round(value, 2 if abs(value) < 1 else 1) + 0.0
    return f"{rounded:+g}" if rounded else "0"
