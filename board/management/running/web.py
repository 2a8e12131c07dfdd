"""The server's process: the board on a socket that its parent bound.

    python -m board.management.running.web FD

uvicorn's own --fd takes any socket for a local one: no client addresses, and small
live messages wait for one another. Given as a socket it keeps its true family.
"""

import socket
import sys

import uvicorn

NOT_STARTED = 3


def main() -> int:
    """Serve until told to stop."""
    config = uvicorn.Config(
        "board.asgi:application",
        access_log=False,
        lifespan="off",
        log_level="warning",
        server_header=False,
        timeout_graceful_shutdown=3,
        ws_max_size=65536,
        # Messages are small: each packed alone it costs more time than it saves bytes.
        ws_per_message_deflate=False,
        ws_ping_interval=20,
        ws_ping_timeout=20,
    )
    server = uvicorn.Server(config)
    server.run(sockets=[socket.socket(fileno=int(sys.argv[1]))])
    return 0 if server.started else NOT_STARTED


if __name__ == "__main__":
    sys.exit(main())
