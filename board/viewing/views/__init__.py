"""Pages of the viewing room."""
