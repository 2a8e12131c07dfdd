"""Sign-off as plain values: stations, moves, guards and what lapses."""
