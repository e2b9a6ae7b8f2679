"""How far a number can be trusted: uncertainty, the mean of a set, the conformity decision. Pure."""
