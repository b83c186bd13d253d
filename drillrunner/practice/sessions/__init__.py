"""A session at the range: its clock, its blocks, its plan, and what it came to."""
