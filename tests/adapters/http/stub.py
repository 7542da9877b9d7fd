"""A weather service on loopback that answers, word for word, what a test tells it."""

from __future__ import annotations

import contextlib
import gzip
import socket
import threading
import time
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    import ssl
    from collections.abc import Callable

PATIENCE_S = 5.0


class Stub:
    """Plays an act for each connection; the last one until there is a new one."""

    def __init__(self, tls: ssl.SSLContext | None = None) -> None:
        self.heads: list[str] = []
        self.most_at_once = 0
        self._acts: list[Callable[[socket.socket], None]] = []
        self._tls = tls
        self._next = 0
        self._busy = 0
        self._lock = threading.Lock()
        self._closing = threading.Event()
        self._threads: list[threading.Thread] = []
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = self._server.getsockname()[1]

    def __enter__(self) -> Self:
        self._start(self._serve)
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    @property
    def url(self) -> str:
        """The address of the service."""
        scheme = "https" if self._tls else "http"
        return f"{scheme}://127.0.0.1:{self.port}/v1/forecast"

    @property
    def count(self) -> int:
        """Requests that came."""
        return len(self.heads)

    def say(self, status: int, body: bytes = b"", **headers: str) -> None:
        """A whole answer; ``_`` in a header's name stands for a hyphen."""
        self.raw(self.text(status, body, **headers))

    def packed(self, body: bytes, *, encoding: str = "gzip") -> None:
        """A whole answer, its body given packed already."""
        self.say(200, body, Content_Encoding=encoding)

    def gzipped(self, body: bytes) -> None:
        """A whole answer, packed by gzip."""
        self.packed(gzip.compress(body, mtime=0))

    def raw(self, content: bytes) -> None:
        """These bytes, then the connection is closed."""
        self.play(lambda connection: connection.sendall(content))

    def drip(self, head: bytes, piece: bytes, every: float) -> None:
        """``head``, then one ``piece`` after another without end."""

        def act(connection: socket.socket) -> None:
            connection.sendall(head)
            while not self._closing.wait(every):
                connection.sendall(piece)

        self.play(act)

    def wait(self, seconds: float, content: bytes) -> None:
        """These bytes after a while."""

        def act(connection: socket.socket) -> None:
            self._closing.wait(seconds)
            connection.sendall(content)

        self.play(act)

    def play(self, act: Callable[[socket.socket], None]) -> None:
        """Add an act."""
        self._acts.append(act)

    @staticmethod
    def text(status: int, body: bytes = b"", **headers: str) -> bytes:
        """The bytes of an answer; its length is stated unless it is given."""
        headers.setdefault("Content_Length", str(len(body)))
        lines = [f"HTTP/1.1 {status} Any"]
        lines += [
            f"{name.replace('_', '-')}: {value}"
            for name, value in headers.items()
            if value
        ]
        return "\r\n".join([*lines, "", ""]).encode("latin-1") + body

    def stop(self) -> None:
        """Be gone: connections are refused from now on."""
        self._closing.set()
        with contextlib.suppress(OSError):
            self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()
        for thread in self._threads:
            thread.join(PATIENCE_S)

    def _start(self, work: Callable[..., None], *arguments: object) -> None:
        thread = threading.Thread(target=work, args=arguments, daemon=True)
        self._threads.append(thread)
        thread.start()

    def _serve(self) -> None:
        while not self._closing.is_set():
            try:
                connection, _ = self._server.accept()
            except OSError:
                return
            self._start(self._talk, connection)

    def _talk(self, connection: socket.socket) -> None:
        connection.settimeout(PATIENCE_S)
        with connection, contextlib.suppress(OSError):
            if self._tls:
                with self._tls.wrap_socket(connection, server_side=True) as secure:
                    self._act(secure)
            else:
                self._act(connection)

    def _act(self, connection: socket.socket) -> None:
        head = b""
        while b"\r\n\r\n" not in head:
            piece = connection.recv(65_536)
            if not piece:
                return
            head += piece
        with self._lock:
            self.heads.append(head.decode("latin-1"))
            act = self._acts[min(self._next, len(self._acts) - 1)]
            self._next = min(self._next + 1, len(self._acts))
            self._busy += 1
            self.most_at_once = max(self.most_at_once, self._busy)
        try:
            act(connection)
        finally:
            with self._lock:
                self._busy -= 1


class Blind:
    """Accepts connections, reads nothing, and sends a byte now and then."""

    def __init__(self, first: bytes, every: float) -> None:
        self._first, self._every = first, every
        self._closing = threading.Event()
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = self._server.getsockname()[1]
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._closing.set()
        self._thread.join(PATIENCE_S)
        self._server.close()

    def _serve(self) -> None:
        connection, _ = self._server.accept()
        with connection, contextlib.suppress(OSError):
            connection.sendall(self._first)
            while not self._closing.is_set():
                time.sleep(self._every)
                connection.sendall(b"\x00")
