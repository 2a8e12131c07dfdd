"""Notes, note sheets, initials and moves for programs; thin: fetch, act, tell."""
