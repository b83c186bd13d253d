"""Expected strokes as data: a golfer of a rating model, and what they take from everywhere."""
