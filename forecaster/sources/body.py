"""A body read piece by piece: never too long, too large or cut off unseen."""

from __future__ import annotations

import zlib
from typing import TYPE_CHECKING

from forecaster.errors import UnusableError

if TYPE_CHECKING:
    import http.client
    import socket

    from forecaster.sources.deadline import Deadline

PIECE = 65_536
_GZIP = 31
"""zlib's window bits for a gzip wrapper."""

CUT_OFF = "the answer is cut off"


class _Plain:
    """Collects pieces as they are."""

    def __init__(self, largest: int) -> None:
        self.content = bytearray()
        self._largest = largest

    def feed(self, piece: bytes) -> None:
        self.content += piece
        if len(self.content) > self._largest:
            raise UnusableError(f"the answer is larger than {self._largest:,} bytes")

    def finish(self) -> None:
        """Every end is a good end."""


class _Gzip(_Plain):
    """Unpacks pieces (RFC 1952), never more than may be kept."""

    def __init__(self, largest: int) -> None:
        super().__init__(largest)
        self._member = zlib.decompressobj(_GZIP)

    def feed(self, piece: bytes) -> None:
        while piece:
            room = self._largest + 1 - len(self.content)
            super().feed(self._member.decompress(piece, room))
            piece = self._member.unused_data
            if piece:
                self._member = zlib.decompressobj(_GZIP)

    def finish(self) -> None:
        if not self._member.eof:
            raise UnusableError(CUT_OFF)


def read_body(
    response: http.client.HTTPResponse,
    connection: socket.socket,
    *,
    largest_wire: int,
    largest_body: int,
    read_s: float,
    deadline: Deadline,
) -> bytes:
    """The whole unpacked body.

    Raises
    ------
    UnusableError
        If it is too large, cut off, or packed in a way that was not asked for.
    TimeoutError
        If it does not come in time.
    zlib.error, http.client.HTTPException, OSError
        If it is badly packed, badly framed or the connection breaks.
    """
    packing = response.headers.get("Content-Encoding", "").strip().lower()
    if packing in {"", "identity"}:
        kept, most = _Plain(largest_body), largest_body
    elif packing in {"gzip", "x-gzip"}:
        kept, most = _Gzip(largest_body), largest_wire
    else:
        raise UnusableError("the answer is packed in a way that was not asked for")
    if (response.length or 0) > most:
        raise UnusableError(f"the answer is larger than {most:,} bytes")
    came = 0
    while True:
        connection.settimeout(_wait(read_s, deadline))
        piece = response.read1(PIECE)
        if not piece:
            break
        came += len(piece)
        if came > most:
            raise UnusableError(f"the answer is larger than {most:,} bytes")
        kept.feed(piece)
    if response.length:
        raise UnusableError(CUT_OFF)
    kept.finish()
    return bytes(kept.content)


def _wait(read_s: float, deadline: Deadline) -> float:
    left = deadline.left()
    if not left:
        raise TimeoutError
    return min(read_s, left)
