"""From a level and a movement to the set of all states any input can reach, and to scripts that prove it."""
