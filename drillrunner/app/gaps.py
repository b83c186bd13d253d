"""Gaps of one's own range that a drill can be played through, each at its own width."""

from __future__ import annotations

from typing import TYPE_CHECKING

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

    The range that was played at last comes first. Empty for a drill without a width.
    """
    from drillrunner.catalogue.ranges import load_ranges

    if drill.aim.width is None:
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


def choose(app: Host, drill: Drill) -> None:
    """Offer the gaps that serve a drill, and play it at the width of the one that is chosen."""

    fitted = _fitted(app, drill)
    found, width, unit = of(app, drill), fitted.aim.width, fitted.unit
    if width is None:
        app.say(f"{drill.title} has no width to find on a range")
        return
    if not found:
        from drillrunner.catalogue.ranges import load_ranges

        _, problems = load_ranges()
        said = "no range in your folder has a gap for it: games/README.md says how to add one"
        app.say(str(problems[0]) if problems else said)
        return

    def answered(choice: str | None) -> None:
        if choice is None:
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
    app.push_screen(
        Choice(
            drill.title,
            rows,
            f"It wants {text(width)} {unit}. Another width is another setting, with a record of "
            "its own.",
        ),
        answered,
    )
