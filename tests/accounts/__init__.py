"""People and their ways in."""
