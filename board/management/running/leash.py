"""Run a module as a child that ends when its parent is gone, however that ended.

    python -m board.management.running.leash FD MODULE WORDS...

The parent holds the other end of the pipe FD; the system closes it even when the
parent is killed outright.
"""

import os
import runpy
import signal
import sys
import threading
import time

GRACE_S = 10.0


def watch(pipe: int) -> None:
    """End this process once nobody holds the other end of the pipe."""
    os.read(pipe, 1)
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(GRACE_S)
    os._exit(1)


def main() -> None:
    """Watch the pipe, then become the module."""
    pipe = int(sys.argv[1])
    sys.argv = sys.argv[2:]
    threading.Thread(target=watch, args=(pipe,), daemon=True).start()
    runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main()
