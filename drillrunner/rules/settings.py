"""What a game is set with: the base of its settings, and the kinds of numbers that they are."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer
from pydantic import Field as Field

from drillrunner.rules.units import plain


class Settings(BaseModel):
    """Base of a game's settings. Wrong values are refused by name; instances are immutable."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    def __hash__(self) -> int:
        return hash((type(self), *map(_hashable, self.__dict__.values())))


def _hashable(value: Any) -> Any:
    """A setting as it can be hashed: TOML's arrays and tables are lists and dicts."""
    if isinstance(value, list | tuple):
        return tuple(map(_hashable, value))
    if isinstance(value, dict):
        return frozenset((key, _hashable(one)) for key, one in value.items())
    return value


def _decimal(value: Any) -> Any:
    if isinstance(value, bool):
        raise ValueError("expected a number")
    if isinstance(value, str):
        raise ValueError("expected a number without quotes")
    if isinstance(value, int | float):
        return Decimal(str(value))
    if not isinstance(value, Decimal):
        raise ValueError("expected a number")
    return value


_Exact = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    PlainSerializer(plain, when_used="json"),
    Field(ge=0, decimal_places=2, allow_inf_nan=False),
]


class IsDistance:
    """Marks a setting that is a distance, so that it follows the unit."""


Distance = Annotated[_Exact, Field(le=1000), IsDistance()]
"""A distance of at most two decimals, in the drill's unit, from 0 to 1000."""

PositiveDistance = Annotated[Distance, Field(gt=0)]


class IsOnGreen:
    """Marks a setting that is a distance on the green: in feet where the drill is in yards."""


GreenDistance = Annotated[_Exact, Field(le=300), IsOnGreen()]
"""A distance on the green of at most two decimals, from 0 to 300: in feet, or metres where the
drill is."""
