"""Practice with a plan: session clock, plans, stock carries, widths at the range, matches.

Pure but for the clock that is handed in.
"""
