"""A line that is cut at the worst moment: the board has written, the answer is lost."""

import http.client
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlsplit

UNTOLD = {"connection", "transfer-encoding", "content-length", "upgrade"}


class Cutter(ThreadingHTTPServer):
    """Passes requests on to a board; loses half of the answers to the next `cuts` acts."""

    daemon_threads = True
    block_on_close = False

    def __init__(self, board: str) -> None:
        super().__init__(("127.0.0.1", 0), _Passing)
        self.board = urlsplit(board).netloc
        self.cuts = 0
        self.acts: list[str] = []

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}"


class _Passing(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: Cutter

    def do_GET(self) -> None:
        self._pass()

    def do_POST(self) -> None:
        self._pass()

    def _pass(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        line = http.client.HTTPConnection(self.server.board, timeout=30)
        line.request(self.command, self.path, body, dict(self.headers))
        answer = line.getresponse()
        told = answer.read()
        line.close()
        if self.command == "POST" and self.path.startswith("/rooms/"):
            self.server.acts.append(f"{self.path} {answer.status}")
            if self.server.cuts:
                self.server.cuts -= 1
                self._half(answer.status, told)
                return
        self.send_response(answer.status)
        for name, value in answer.getheaders():
            if name.lower() not in UNTOLD:
                self.send_header(name, value)
        self.send_header("Content-Length", str(len(told)))
        self.end_headers()
        self.wfile.write(told)

    def _half(self, status: int, told: bytes) -> None:
        """Begin to answer, and fall silent."""
        self.send_response(status)
        self.send_header("Content-Length", str(len(told)))
        self.end_headers()
        self.wfile.write(told[: len(told) // 2])
        self.close_connection = True

    def log_message(self, *_said: object) -> None:
        """Say nothing."""


@contextmanager
def cutting(board: str) -> Iterator[Cutter]:
    """A line to the board that can be cut."""
    line = Cutter(board)
    thread = threading.Thread(target=line.serve_forever, daemon=True)
    thread.start()
    try:
        yield line
    finally:
        line.shutdown()
        line.server_close()
