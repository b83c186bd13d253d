"""Gaps of one's own range that a drill can be played through, each at its own width."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillrunner.app import doors
from drillrunner.app.dialog import Choice
from drillrunner.app.host import Host
from drillrunner.catalogue.errors import BadDrill
from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.ranges import Gap, RangeProfile


def _fitted(app: Host, drill: Drill) -> Drill:
    return drill if app.player is None else drill.in_unit(app.player.unit)


def of(app: Host, drill: Drill) -> list[tuple[RangeProfile, Gap]]:
    """For each range in the user's folder, the gap that comes closest to what a drill wants.

    The range that was played at last comes first. Empty for a drill without a width, and for one
    of several stations: one gap can't be all of their widths.
    """
    from drillrunner.catalogue.ranges import load_ranges

    if drill.aim.width is None or len(drill.stations) > 1:
        return []
    fitted = _fitted(app, drill)
    assert fitted.aim.width is not None
    profiles, _ = load_ranges()
    last = app.preferences.range
    found = [
        (profile, gap)
        for profile in sorted(profiles, key=lambda profile: profile.id != last)
        if (gap := profile.nearest(fitted.aim.width, fitted.unit, fitted.aim.carry)) is not None
    ]
    return found


def nearest_words(app: Host, drill: Drill) -> str:
    """Which gap to aim through, in a line; empty where no range is known or none serves."""
    from drillrunner.catalogue.ranges import gap_words

    fitted = _fitted(app, drill)
    for profile, gap in of(app, drill)[:1]:
        assert fitted.aim.width is not None
        return f"{profile.title}: {gap_words(gap, fitted.aim.width, fitted.unit)}"
    return ""


def through(drill: Drill, gap: Gap) -> Drill:
    """A drill at the width of a gap, with what that may be off. Raises BadDrill."""
    return drill.with_set([f"aim.width={text(gap.whole)}", f"aim.width_error={text(gap.error)}"])


def _to_describe(app: Host) -> dict[str, RangeProfile | None]:
    """The ranges that can be changed, and a new one; what is wrong with files is said."""
    from drillrunner.catalogue.ranges import load_ranges

    profiles, problems = load_ranges()
    if problems:
        app.say(str(problems[0]))
    return {**{f"change:{profile.id}": profile for profile in profiles}, "new": None}


def choose(app: Host, drill: Drill) -> None:
    """Offer the gaps that serve a drill, and play it at the width of the one that is chosen."""

    fitted = _fitted(app, drill)
    found, width, unit = of(app, drill), fitted.aim.width, fitted.unit
    if width is None:
        app.say(f"{drill.title} has no width to find on a range")
        return
    if len(drill.stations) > 1:
        app.say(f"{drill.title} has several targets: one gap can't stand for all")
        return

    def answered(choice: str | None) -> None:
        if choice is None:
            return
        if choice in described:
            app.open(doors.MakeRange(described[choice]))
            return
        profile, gap = found[int(choice)]
        app.prefer(range=profile.id)
        try:
            app.runs.play(through(fitted, gap))
        except BadDrill as error:
            app.say(str(error))

    rows = [
        (
            str(at),
            f"{text(gap.whole)} {unit}: {gap.name}",
            f"{profile.title}, at {gap.distance:.0f} {unit}, "
            f"{gap.width.low:.0f} to {gap.width.high:.0f} {unit}",
        )
        for at, (profile, gap) in enumerate(found)
    ]
    described = _to_describe(app)
    rows += [
        (name, f"Change {profile.title}" if profile else "Describe a range", about)
        for name, profile in described.items()
        for about in ("its gaps and marks" if profile else "gaps that you know, or marks",)
    ]
    app.push_screen(
        Choice(
            drill.title,
            rows,
            f"It wants {text(width)} {unit}. Another width is another setting, with a record of "
            "its own."
            if found
            else f"It wants {text(width)} {unit}, and no range that is described has such a gap.",
        ),
        answered,
    )
