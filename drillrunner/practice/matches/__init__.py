"""Several players and one drill: the fold of their moves, what is kept of it, and standings."""
