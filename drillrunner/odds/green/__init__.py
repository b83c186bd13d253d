"""How a player holes out: putts, chips and bunker shots, by length and lie."""
