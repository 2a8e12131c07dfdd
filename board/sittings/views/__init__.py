"""Pages of sittings: before, during, after."""
