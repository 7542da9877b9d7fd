"""Receivers of our own on the loopback: HTTP and SMTP, scripted, on plain sockets."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Self

Script = dict[str, str]


@dataclass
class Receiver:
    """Accepts connections and answers as told; keeps what it accepted."""

    script: Script = field(default_factory=dict)
    accepted: list[bytes] = field(default_factory=list)
    heard: list[bytes] = field(default_factory=list)
    """Everything that was said to it."""

    def __enter__(self) -> Self:
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]
        self._on = True
        threading.Thread(target=self._serve, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self._on = False
        with suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)  # wakes who waits in accept
        self._socket.close()

    def _serve(self) -> None:
        while self._on:
            try:
                line, _ = self._socket.accept()
            except OSError:
                return
            threading.Thread(target=self._guarded, args=(line,), daemon=True).start()

    def _guarded(self, line: socket.socket) -> None:
        with line:
            line.settimeout(20)
            try:
                self.answer(line)
            except OSError:
                return

    def answer(self, line: socket.socket) -> None:
        """One conversation."""
        raise NotImplementedError


class WebReceiver(Receiver):
    """``status``, ``headers``, ``then``: hang, drop; a body of ``body`` bytes."""

    def answer(self, line: socket.socket) -> None:
        """Read one request, answer it."""
        data = b""
        while b"\r\n\r\n" not in data:
            more = line.recv(65_536)
            if not more:
                return
            data += more
        head, _, body = data.partition(b"\r\n\r\n")
        length = 0
        for each in head.split(b"\r\n"):
            name, _, value = each.partition(b":")
            if name.lower() == b"content-length":
                length = int(value)
        while len(body) < length:
            body += line.recv(65_536)
        self.heard.append(head + b"\r\n\r\n" + body)
        then = self.script.get("then", "")
        status = int(self.script.get("status", "200"))
        if then == "hang":
            time.sleep(15)
            return
        if 200 <= status < 300:
            self.accepted.append(body)
        if then == "drop":
            return
        size = int(self.script.get("body", "2"))
        extra = self.script.get("headers", "")
        line.sendall(
            f"HTTP/1.1 {status} x\r\n{extra}Content-Length: {size}\r\n"
            "Connection: close\r\n\r\n".encode()
            + b"x" * size
        )


class MailReceiver(Receiver):
    """``hello``, ``rcpt``, ``data``: codes; ``dot``: drop or hang after the mail."""

    def answer(self, line: socket.socket) -> None:
        """One SMTP conversation (RFC 5321), without encryption."""
        file = line.makefile("rwb")

        def say(text: str) -> None:
            file.write(text.encode() + b"\r\n")
            file.flush()

        say(f"{self.script.get('hello', '220')} ready")
        while True:
            words = file.readline()
            if not words:
                return
            self.heard.append(words)
            verb = words[:4].upper()
            if verb in {b"EHLO", b"HELO", b"MAIL", b"RSET", b"NOOP"}:
                say("250 ok")
            elif verb == b"RCPT":
                say(f"{self.script.get('rcpt', '250')} recipient")
            elif verb == b"DATA":
                if not self._data(file, say):
                    return
            elif verb == b"QUIT":
                say("221 bye")
                return
            else:
                say("502 no")

    def _data(self, file, say) -> bool:  # type: ignore[no-untyped-def]  # noqa: ANN001
        say("354 go on")
        mail = b""
        while not mail.endswith(b"\r\n.\r\n"):
            more = file.readline()
            if not more:
                return False
            mail += more
        code = self.script.get("data", "250")
        if code == "250":
            self.accepted.append(mail[:-5])
        then = self.script.get("dot", "")
        if then == "hang":
            time.sleep(15)
        if then:
            return False
        say(f"{code} queued")
        return True
