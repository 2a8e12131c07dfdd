"""The browser that the tests drive."""

import os
import shutil
from pathlib import Path

PACKAGE = "chromium"
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
MAC = Path("/Applications/Chromium.app/Contents/MacOS/Chromium")


def find() -> str | None:
    """Return a Chromium on this machine; BOARD_TEST_CHROMIUM names one outright."""
    named = os.environ.get("BOARD_TEST_CHROMIUM")
    if named:
        return named
    for name in NAMES:
        if found := shutil.which(name):
            return found
    return str(MAC) if MAC.exists() else None
