"""Rounds on the course: the handicap index and what it needs."""
