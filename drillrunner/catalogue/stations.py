"""The stations of a drill file: what its top level says for all, and what each one adds."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Annotated, Any, NamedTuple, Protocol

from pydantic import AfterValidator, Field

from drillrunner.catalogue.fields import Fault, Strict, Title, line, unknown_club
from drillrunner.catalogue.tomltext import FieldPath
from drillrunner.rules.game import AnyGame
from drillrunner.rules.outcome import GRIDS, Asks
from drillrunner.rules.settings import Distance, PositiveDistance
from drillrunner.rules.shot import Aim, NearLie
from drillrunner.rules.station import Station
from drillrunner.rules.units import plain

STOCK = "stock"
MOST = 36
STAND_IN = Decimal(100)
"""The carry that an aim at a stock carry is checked with."""

Swing = Annotated[str, Field(max_length=40), AfterValidator(line)]
GridField = Annotated[PositiveDistance, Field(le=50)]


class AimFields(Strict):
    """The `[aim]` of a drill or a station; `Aim` tells what they are."""

    carry: PositiveDistance | None = None
    width: PositiveDistance | None = None
    depth: PositiveDistance | None = None
    width_error: Distance | None = None
    length: PositiveDistance | None = None
    lie: NearLie | None = None
    far_left: PositiveDistance | None = None
    far_right: PositiveDistance | None = None


class StationFields(Strict):
    """One `[[stations]]`: what is left out is as at the top level of the file."""

    title: Title | None = None
    club: str | None = None
    swing: Swing | None = None
    asks: Asks | None = None
    grid: GridField | None = None
    aim: AimFields = AimFields()


class TopLevel(Protocol):
    """What the top level of a drill says for all its stations."""

    @property
    def club(self) -> str: ...
    @property
    def swing(self) -> str: ...
    @property
    def asks(self) -> Asks | None: ...
    @property
    def grid(self) -> Decimal | None: ...
    @property
    def aim(self) -> AimFields: ...
    @property
    def stations(self) -> list[StationFields]: ...


class Unstocked(NamedTuple):
    """A document whose carries are all numbers, and which of its stations aim at a stock carry."""

    document: dict[str, Any]
    stocks: tuple[bool, ...]


def unstocked(raw: Mapping[str, Any]) -> Unstocked:
    """Take out the word that stands for a stock carry."""
    document = dict(raw)
    document["aim"], top = _carry_out(raw.get("aim", {}))
    listed = raw.get("stations")
    if not isinstance(listed, list) or not listed:
        return Unstocked(document, (top,))
    stations, stocks = [], []
    for one in listed:
        own = one.get("aim") if isinstance(one, dict) else None
        stripped, stock = _carry_out(own)
        stations.append(one if not stock else {**one, "aim": stripped})
        says = isinstance(own, dict) and "carry" in own
        stocks.append(stock or (top and not says))
    document["stations"] = stations
    return Unstocked(document, tuple(stocks))


def _carry_out(aim: Any) -> tuple[Any, bool]:
    if not isinstance(aim, dict) or aim.get("carry") != STOCK:
        return aim, False
    return {name: value for name, value in aim.items() if name != "carry"}, True


def clubs_named(raw: Mapping[str, Any], clubs: Collection[str] | None) -> Iterator[Fault]:
    """The faults of clubs that nobody knows, wherever they stand."""
    for name in ("club", "between"):
        yield from unknown_club(name, raw.get(name), clubs)
    for at, one in enumerate(_listed(raw)):
        for path, reason in unknown_club("club", one.get("club"), clubs):
            yield ("stations", str(at), *path), reason
        if raw.get("club") is None and one.get("club") is None:
            yield ("stations", str(at), "club"), "missing: expected a value, here or at the top"


def first_club(raw: Mapping[str, Any]) -> Any:
    """The club at the top level, or where there is none that of the first station."""
    named = [one["club"] for one in _listed(raw) if "club" in one]
    return raw["club"] if "club" in raw else named[0] if named else None


def _listed(raw: Mapping[str, Any]) -> list[dict[str, Any]]:
    listed = raw.get("stations")
    return [one for one in listed if isinstance(one, dict)] if isinstance(listed, list) else []


def stations_of(top: TopLevel, game: type[AnyGame]) -> tuple[Station, ...]:
    """The stations of a drill, each complete."""
    found = []
    for own in top.stations or [StationFields()]:
        asks = own.asks or top.asks or game.asks
        found.append(
            Station(
                Aim(**(top.aim.model_dump() | own.aim.model_dump(exclude_none=True))),
                asks,
                own.grid or top.grid or GRIDS[asks],
                own.club or top.club,
                own.swing or top.swing,
                own.title or "",
            )
        )
    return tuple(found)


def misfits(top: TopLevel, game: type[AnyGame]) -> Iterator[Fault]:
    """Why a game does not take the stations of a drill."""
    count = len(top.stations)
    if game.several and max(count, 1) < game.fewest:
        yield ("stations",), f"expected two or more [[stations]]: {game.id} takes several"
    if not game.several and count > 1:
        yield ("stations",), f"expected one station, not {count}: {game.id} takes one"
    asked: list[tuple[FieldPath, Asks | None]] = [(("asks",), top.asks)]
    asked += [(("stations", str(at), "asks"), own.asks) for at, own in enumerate(top.stations)]
    may = (game.asks, *game.also_asks)
    for path, asks in asked:
        if asks is not None and asks not in may:
            yield path, f"expected {' or '.join(may)}: {game.id} asks nothing else"


def with_stand_in(stations: Sequence[Station], stocks: Sequence[bool]) -> tuple[Station, ...]:
    """These stations with a carry for those whose own is not known yet."""
    return tuple(
        station.aimed(carry=STAND_IN) if stock else station
        for station, stock in zip(stations, stocks, strict=True)
    )


def path_of(name: str, settings: Collection[str], raw: Mapping[str, Any]) -> FieldPath:
    """The path in a file of a field that a game names in its faults."""
    if name in settings:
        return ("settings", name)
    path = tuple(name.split("."))
    alone = len(_listed(raw)) == 1 and path[0] in StationFields.model_fields
    return ("stations", "0", *path) if alone else path


def station_setting(station: Station, stock: bool, game: type[AnyGame]) -> dict[str, Any]:
    """What a fingerprint covers of one station of several, ready for JSON."""
    found = {
        "club": station.club,
        "swing": station.swing,
        "aim": aim_setting(station.aim, stock),
        "grid": plain(station.grid),
    }
    return found if station.asks == game.asks else {**found, "asks": station.asks}


def aim_setting(aim: Aim, stock: bool) -> dict[str, Any]:
    """An aim, ready for JSON, as it names a record: how well a width is known makes no other."""
    said = {
        name: plain(value) if isinstance(value, Decimal) else value
        for name, value in aim.said.items()
        if name != "width_error"
    }
    return {"carry": STOCK, **said} if stock else said
