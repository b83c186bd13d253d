"""Finds and checks drills and games: the only layer that reads plugin folders."""
