"""The re-fit: never more than there is, least needed first, and it says what it did."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue.plans import KINDS
from drillrunner.practice.sessions.refit import LEAST_NEEDED, SHORTEST, Refit, Share, clock, fit
from tests.practice.worlds import block

shares = st.lists(
    st.tuples(st.sampled_from(KINDS), st.integers(1, 30), st.integers(0, 30)),
    max_size=8,
).map(
    lambda rows: [
        Share(place, block(kind, minutes, balls), minutes * 60.0, balls)
        for place, (kind, minutes, balls) in enumerate(rows)
    ]
)


@given(shares, st.floats(0, 7200), st.integers(0, 200))
def test_nothing_is_given_that_is_not_there(
    wanted: list[Share], seconds: float, bucket: int
) -> None:
    fits = fit(wanted, seconds, bucket)
    assert sum(share.seconds for share in fits.shares) <= seconds + 1e-6
    assert sum(share.balls for share in fits.shares) <= bucket
    by_place = {share.place: share for share in wanted}
    for share in fits.shares:
        full = by_place[share.place]
        assert 0 <= share.balls <= full.balls
        assert min(SHORTEST, full.seconds) - 1e-6 <= share.seconds <= full.seconds


@given(shares, st.floats(0, 7200), st.integers(0, 200))
def test_every_block_is_kept_or_dropped_and_the_order_stays(
    wanted: list[Share], seconds: float, bucket: int
) -> None:
    fits = fit(wanted, seconds, bucket)
    kept, dropped = [s.place for s in fits.shares], [s.place for s in fits.dropped]
    assert sorted(kept + dropped) == [share.place for share in wanted]
    assert kept == sorted(kept)
    assert len(fits.said) == len(fits.shortened) + len(fits.dropped)


@given(shares)
def test_what_fits_is_left_alone(wanted: list[Share]) -> None:
    seconds, bucket = sum(s.seconds for s in wanted), sum(s.balls for s in wanted)
    assert fit(wanted, seconds, bucket) == Refit(tuple(wanted))


@given(shares, st.floats(0, 7200), st.integers(0, 200))
def test_nothing_less_needed_is_kept_for_more_than_it_needs(
    wanted: list[Share], seconds: float, bucket: int
) -> None:
    """If a block was dropped, all that is less needed went before it."""
    fits = fit(wanted, seconds, bucket)
    drills = [share.place for share in wanted if share.block.kind == "drill"]

    def need(share: Share) -> tuple[bool, int]:
        finish = bool(drills) and share.place == drills[-1]
        return finish, LEAST_NEEDED.index(share.block.kind)

    if fits.dropped and fits.shares:
        assert max(map(need, fits.dropped)) <= min(map(need, fits.shares))


def test_the_worked_example() -> None:
    """Ten minutes and 24 balls are left for free, technique and two games of 10 minutes."""
    wanted = [
        Share(0, block("technique", 8, 14, title="Technique"), 480, 14),
        Share(1, block("drill", 10, 10, title="First game"), 600, 10),
        Share(2, block("free", 5, 10, title="Free"), 300, 10),
        Share(3, block("drill", 10, 12, title="Last game"), 600, 12),
    ]
    fits = fit(wanted, 600, 24)
    assert [(s.block.title, s.seconds, s.balls) for s in fits.shares] == [
        ("First game", 300, 10),
        ("Last game", 300, 12),
    ]
    assert fits.said == (
        "First game shortened to 05:00, 10 balls",
        "Last game shortened to 05:00, 12 balls",
        "Technique dropped: no room is left",
        "Free dropped: no room is left",
    )


def test_the_last_one_is_cut_to_what_is_left() -> None:
    game = Share(0, block("drill", 12, 18), 720, 18)
    assert [(s.seconds, s.balls) for s in fit([game], 90, 4).shares] == [(90, 4)]
    assert not fit([game], 59, 4).shares
    assert not fit([game], 90, 0).shares


def test_clock_reads_as_minutes_and_seconds() -> None:
    shown = {0: "00:00", 0.2: "00:01", 59.5: "01:00", 61: "01:01", 3720: "62:00", -5: "+00:05"}
    for seconds, text in shown.items():
        assert clock(seconds) == text
    assert clock(math.nextafter(60, 0)) == "01:00"
