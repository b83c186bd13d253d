"""The starting guesses beside the table and the fairways that they come from.

`python -m tests.odds.guesses` prints, for each column and index, the half-width that holds two in
three at each distance, the table's own beside it, and what a driver is thought to hold.
"""

from __future__ import annotations

from drillrunner.odds.desk import usual_carry
from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import COLUMNS, bad_share, guess, table_half, tee_shot

DISTANCES = (60, 90, 130, 170, 210, 250)


def main() -> None:
    """Print the tables."""
    print("two in three within, yd (the table's own), left and right; then the driver: its carry,")
    print("bad shots, and the share inside 32 and 40 yd")
    for column in COLUMNS:
        for index in (0.0, 10.0, 20.0, 36.0, 54.0):
            cells = [
                f"{guess(d, index=index, column=column).half_width:5.1f}"
                f" ({table_half(d, 'lateral', index, column):4.1f})"
                for d in DISTANCES
            ]
            carry = usual_carry("driver", index, column)
            drive = Pattern.of([], guess(carry, index=index, column=column))
            longest = tee_shot(index, column)
            print(
                f"{column:6}{index:4.0f}",
                *cells,
                f"| {carry:4.0f} of {longest:4.0f} yd, bad {bad_share(index):.2f},",
                f"32: {drive.held(32):.2f}, 40: {drive.held(40):.2f}",
            )
    print("\nfairways that hold two in three: 32 yd at 250 yd (scratch), 40 yd at 200 yd (bogey)")
    for index, distance, width in ((0.0, 250.0, 32), (20.0, 200.0, 40)):
        half = guess(distance, index=index, column="men").half_width
        print(f"index {index:.0f}: the guess holds two in three of {2 * half:.0f} yd, not {width}")
    print("one distance for all, 220 yd: inside 40 yd")
    for column in COLUMNS:
        held = [
            f"{i}: {Pattern.of([], guess(220, index=i, column=column)).held(40):.2f}"
            for i in (0, 20, 54)
        ]
        print(column, *held)


if __name__ == "__main__":
    main()
