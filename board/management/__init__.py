"""Commands that run, keep and test the board."""
