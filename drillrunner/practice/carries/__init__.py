"""The carry that a swing repeats, and shots brought from a file."""
