"""A small mail server that keeps what it is sent, and refuses when a test says so.

It speaks the part of RFC 5321 that a client needs: EHLO, MAIL, RCPT, DATA, RSET, QUIT.
"""

import socketserver
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage


@dataclass
class Sink:
    """What came in, and what the next answers are."""

    port: int = 0
    taken: list[EmailMessage] = field(default_factory=list)
    rcpt_says: str = "250 OK"
    data_says: str = "250 OK"
    greets: bool = True
    after_data: Callable[[], None] = lambda: None


class _Talk(socketserver.StreamRequestHandler):
    sink: Sink

    def handle(self) -> None:
        if not self.sink.greets:
            self.rfile.readline()  # says nothing until the client goes away
            return
        self._say("220 sink ESMTP")
        while line := self.rfile.readline().decode("ascii", "replace").strip():
            word = line.split(" ")[0].upper()
            if word == "QUIT":
                self._say("221 bye")
                return
            if word == "DATA":
                self._take()
            elif word == "RCPT":
                self._say(self.sink.rcpt_says)
            else:
                self._say("250 OK")

    def _take(self) -> None:
        self._say("354 go on")
        lines = []
        while (line := self.rfile.readline()) not in {b".\r\n", b""}:
            lines.append(line.removeprefix(b".") if line.startswith(b"..") else line)
        if self.sink.data_says.startswith("250"):
            body = b"".join(lines)
            mail = message_from_bytes(body, policy=policy.default)
            assert isinstance(mail, EmailMessage)
            self.sink.taken.append(mail)
        self.sink.after_data()
        self._say(self.sink.data_says)

    def _say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode("ascii"))
        self.wfile.flush()


class _Server(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True


@contextmanager
def listening() -> Iterator[Sink]:
    """Run the sink on a free port of this machine."""
    sink = Sink()
    talk = type("Talk", (_Talk,), {"sink": sink})
    with _Server(("127.0.0.1", 0), talk) as server:
        sink.port = int(server.server_address[1])
        threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True).start()
        try:
            yield sink
        finally:
            server.shutdown()
