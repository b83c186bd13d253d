"""What the screens that look back ask of the odds, in a thread, and how they say it.

numpy and `drillrunner.odds` are imported only inside a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from drillrunner.app import odds_words
from drillrunner.app.odds_worker import density
from drillrunner.app.words import SPANS
from drillrunner.odds.words import band, no_change, share
from drillrunner.practice.looking_back.progress import SettingFacts, setting_facts, trend_line
from drillrunner.rules.score import Better, Score
from drillrunner.rules.shot import Direction
from drillrunner.rules.units import Unit, convert, text

if TYPE_CHECKING:
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.odds.desk import Picture
    from drillrunner.odds.luck import Luck
    from drillrunner.odds.pattern import Band, Pattern
    from drillrunner.store.shapes import PlayerInfo, StoredShot
    from drillrunner.store.store import Store

NEWEST = 1000
"""Runs of a drill as set that are looked at: years of practice at it."""

LEAST_BALLS = 20
"""Balls before the older half is told from the newer one."""

MOST = 2000
"""Balls with one club that are looked back on."""


# ---- better or worse ----


@dataclass(frozen=True)
class Verdict:
    """Luck or progress, with the best that luck alone reaches by each run, and the trend line.

    often: how often luck does as much at most, in words; empty while there are fewer days than
    `wanted`.
    """

    luck: Luck
    often: str
    wanted: int
    by_luck: tuple[Score, ...]
    trend: tuple[tuple[int, float], ...]


def verdict(scores: Sequence[Score], better: Better, days: Sequence[date] | None = None) -> Verdict:
    """Judge the scores of one player's finished runs of a drill as set, oldest first.

    days: of each run, so that the runs of one day count once.
    """
    from drillrunner.odds.luck import LEAST_DAYS, best_by_luck, judged, often

    luck = judged(scores, better, days=days)
    return Verdict(
        luck,
        "" if luck.chance is None else often(luck.chance),
        LEAST_DAYS,
        best_by_luck(scores, better),
        () if luck.trend is None else trend_line(scores, luck.trend.slope),
    )


def headline(found: Verdict | None) -> str:
    """Whether it gets better, in one plain sentence."""
    if found is None:
        return odds_words.WAITING
    luck = found.luck
    if not found.often:
        return f"● Too early to tell: {luck.days} of the {found.wanted} days that it takes"
    if luck.steady is not None:
        return f"■ {no_change(luck.steady).capitalize()} over {luck.days} days"
    if luck.way is None:
        return f"● Too early to tell: luck alone does as much {found.often}"
    mark = "▲" if luck.way == "better" else "▼"
    return f"{mark} Getting {luck.way}: luck alone does that {found.often}"


# ---- settings side by side ----


@dataclass(frozen=True)
class Beside:
    """One setting of a drill beside the others.

    holds: the chance that a ball holds its aim, `None` where it is not in or out in one direction.
    beats: the chance that the next run beats the best; `None` without a best or without its game.
    exact: it was walked, not estimated. guess, shots: what both rest on.
    """

    facts: SettingFacts
    holds: Band | None
    beats: float | None
    exact: bool
    guess: bool
    shots: int


def settings_of(store: Store, player: PlayerInfo, drill: str) -> tuple[SettingFacts, ...]:
    """What the runs of each setting of a drill tell, the latest played first."""
    settings = (run.fingerprint for run in store.settings(drill, player.id))
    return tuple(
        setting_facts(store.history(None, player.id, NEWEST, fingerprint=fingerprint))
        for fingerprint in settings
    )


def beside(
    store: Store, player: PlayerInfo, catalogue: Catalogue, found: Sequence[SettingFacts]
) -> tuple[Beside, ...]:
    """The same with the player's chances of now. Raises StoreError."""
    return tuple(_beside(store, player, catalogue, facts) for facts in found)


def _beside(store: Store, player: PlayerInfo, catalogue: Catalogue, facts: SettingFacts) -> Beside:
    from drillrunner.catalogue.drill import from_stored
    from drillrunner.odds import desk
    from drillrunner.rules import Run

    run = facts.newest
    loaded = catalogue.games.get(run.game)
    if loaded is None or loaded.hash != run.game_hash:
        return Beside(facts, None, None, True, True, 0)
    drill = from_stored(run.as_set, loaded.cls, loaded.hash)
    game = drill.game()
    bag, begun = desk.bag_of(store, player), Run.begin(game)
    # Where the target moves, one chance to hold it would not be true of the next ball.
    holds = desk.held_share(bag, begun.ask) if not game.moves else None
    answer = desk.ask(game, begun, bag, facts.best)
    if answer is None:
        guess, shots = desk.rests_on(game, bag)
        return Beside(facts, holds, None, True, guess, shots)
    return Beside(facts, holds, answer.chance, answer.exact, answer.guess, answer.shots)


def beside_words(found: Beside, brief: bool = False) -> str:
    """What one setting says. brief: in a line of a list, without what it rests on."""
    facts = found.facts
    parts = []
    if facts.typical is not None:
        half = "half reach" if brief else "half of your runs reach"
        parts.append(f"{half} {text(facts.typical)}")
    elif facts.scores:
        parts.append("most of your runs have no score")
    if found.holds is not None:
        parts.append(f"a ball holds {band(found.holds)}")
    if found.beats is not None and facts.best is not None:
        about = "" if found.exact else "~ "
        parts.append(f"{about}{share(found.beats)} to beat {text(facts.best)}")
        if not brief:
            parts.append(odds_words.behind(found.shots, found.guess))
    return " · ".join(parts) or "no finished run yet"


# ---- then and now ----


class Half(NamedTuple):
    """One half of a player's balls with a club: distances in the player's unit, 80 % bands."""

    shots: int
    first: datetime
    last: datetime
    bias: Band
    half_width: Band
    density: tuple[float, ...]


@dataclass(frozen=True)
class ThenNow:
    """The older half of the balls with one club and swing beside the newer half.

    span: half of what the densities cover, in `unit`.
    """

    club: str
    swing: str
    direction: Direction
    unit: Unit
    then: Half
    now: Half
    span: int

    @property
    def apart(self) -> bool:
        """Whether the spread changed by more than the bands allow for."""
        then, now = self.then.half_width, self.now.half_width
        return now.high < then.low or now.low > then.high

    @property
    def change(self) -> str:
        """The change in a few words that claim no more than the bands allow."""
        if not self.apart:
            return "● Too early to tell them apart"
        return (
            "▲ Tighter" if self.now.half_width.median < self.then.half_width.median else "▼ Wider"
        )

    @property
    def said(self) -> str:
        """The change in a sentence."""
        then, now = self.then.half_width.median, self.now.half_width.median
        return f"{self.change}: two in three within {then:.1f} {self.unit} then, {now:.1f} now"


def then_and_now(store: Store, player: PlayerInfo) -> tuple[ThenNow, ...]:
    """Each club and swing with enough balls, the most played first. Raises StoreError.

    Of the balls in each direction the older half stands beside the newer one; each half is a
    picture of its own, from the same starting guess, and all of its balls count alike.
    """
    from drillrunner.odds.desk import picture_of

    swings = dict.fromkeys((run.club, run.swing) for run in store.settings(None, player.id))
    found = []
    for club, swing in swings:
        picture = picture_of(store, player, club, swing, unit=player.unit)
        records = store.recent_shots(player.id, club, swing, MOST)
        for direction in ("lateral", "depth"):
            told = _told(picture, records, direction)
            if len(told) < LEAST_BALLS:
                continue
            middle = len(told) // 2
            then, now = told[middle:], told[:middle]
            patterns = [
                replace(picture, records=half, half_life=None).of(direction) for half in (then, now)
            ]
            span = _span(patterns, player.unit)
            older, newer = (
                _half(pattern, half, player.unit, span)
                for pattern, half in zip(patterns, (then, now), strict=True)
            )
            found.append(ThenNow(club, swing, direction, player.unit, older, newer, span))
    return tuple(sorted(found, key=lambda one: -one.then.shots))


def _told(
    picture: Picture, records: Sequence[StoredShot], direction: Direction
) -> Sequence[StoredShot]:
    """The balls that tell something in a direction, newest first."""
    from drillrunner.odds.observe import observations

    def tells(ball: StoredShot) -> bool:
        # One that missed a window tells of both directions, however little.
        return bool(observations([ball], direction, picture.player.carry, held=lambda _: 1.0))

    return list(filter(tells, records))


def _span(patterns: Sequence[Pattern], unit: Unit) -> int:
    scale = float(convert(Decimal(1), "yd", unit))
    far = max(abs(p.bias.median) + 2 * p.half_width.median for p in patterns) * scale
    return next((span for span in SPANS if span >= far), SPANS[-1])


def _half(pattern: Pattern, balls: Sequence[StoredShot], unit: Unit, span: int) -> Half:
    scale = float(convert(Decimal(1), "yd", unit))

    def scaled(band: Band) -> Band:
        return type(band)(*(value * scale for value in band))

    return Half(
        len(balls),
        min(ball.at for ball in balls),
        max(ball.at for ball in balls),
        scaled(pattern.bias),
        scaled(pattern.half_width),
        density(pattern, Decimal(span), unit),
    )
