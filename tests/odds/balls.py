"""Balls for the tests, typed on the keypad grammar."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Aim, AnyGame, Shot, Unit
from drillrunner.rules.keypad import read


@dataclass(frozen=True)
class Ball:
    """A counted ball as the store hands it out, as far as the odds read it."""

    shot: Shot
    aim: Aim
    unit: Unit = "yd"
    lost_counts: Decimal | None = None


def typed(game: AnyGame, *texts: str) -> list[Ball]:
    """The balls that these texts mean in a game, newest last."""
    balls = []
    for text in texts:
        shot = read(text, game.ask, sure=True).shot
        assert shot is not None
        balls.append(Ball(shot, game.aim, game.unit, game.lost_counts))
    return balls
