"""Loads the invented demo book by calling the actions that the pages call."""
