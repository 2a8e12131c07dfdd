"""What the system's package manager can bring, asked for only where it is missing."""

import os
import shutil
import subprocess
from collections.abc import Iterable

# RUNLEVEL=1 keeps Debian from starting a service because it was installed.
QUIETLY = {"DEBIAN_FRONTEND": "noninteractive", "RUNLEVEL": "1"}
AT_MOST_S = 600.0


def bring(packages: Iterable[str]) -> None:
    """Install Debian packages one by one where that is allowed; failing is no error."""
    wanted = list(packages)
    rights = administrator()
    apt = shutil.which("apt-get")
    if not wanted or apt is None or rights is None:
        return
    print(f"Installing {', '.join(wanted)} with apt-get.", flush=True)  # noqa: T201
    install = [*rights, apt, "install", "-qq", "-y", "--no-install-recommends"]
    left = [package for package in wanted if not _run([*install, package])]
    if left:  # the lists may be missing, or too old
        _run([*rights, apt, "update", "-qq"])
        for package in left:
            _run([*install, package])


def administrator() -> list[str] | None:
    """Return what to put before a system command, or None without the right."""
    if os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    if sudo is None:
        return None
    allowed = subprocess.run(  # noqa: S603 - sudo found on the path
        [sudo, "-n", "true"], stderr=subprocess.DEVNULL, check=False
    )
    # sudo would drop the quiet words, so they go in front of the command.
    words = [f"{name}={value}" for name, value in QUIETLY.items()]
    return [sudo, "-n", *words] if allowed.returncode == 0 else None


def _run(words: list[str]) -> bool:
    try:
        done = subprocess.run(  # noqa: S603 - apt-get with fixed words
            words,
            env={**os.environ, **QUIETLY},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            timeout=AT_MOST_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        print(f"Gave up on: {' '.join(words)}", flush=True)  # noqa: T201
        return False
    return done.returncode == 0
