"""The wall."""
