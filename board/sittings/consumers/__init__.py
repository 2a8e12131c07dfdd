"""Live lines of sittings: a line for each open page, and who sits there."""
