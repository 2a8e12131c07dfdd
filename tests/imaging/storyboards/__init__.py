"""Storyboard sheets with known frames, drawn by program, scanned and photographed."""
