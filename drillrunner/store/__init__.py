"""Keeps players, runs and everything typed: the only layer with SQL. Nothing is imported here."""
