"""Expected strokes: a golfer of a rating model on test ground, solved by value iteration."""
