"""Live lines of a book: one ear for all of a process, and a line for each page."""
