"""A connection that can be cut from outside, and work that ends in time.

The time-outs of sockets are for one wait, not for a whole request: a server that
sends a byte now and then keeps a client for ever. So the work runs in a thread of its
own, and when its time is over the connection under it is shut down.
"""

from __future__ import annotations

import socket
import threading
from contextlib import suppress
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.sources.deadline import Deadline

T = TypeVar("T")

THREAD = "line to a weather service"
SLICE_S = 0.2
"""The longest wait in one piece, so that an interrupt is heard everywhere."""
GRACE_S = 0.2
"""For the thread to notice that its connection is cut."""


class Line:
    """Second handles on the open connections of one piece of work."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._handles: list[socket.socket] = []
        self._is_cut = False

    def hold(self, connection: socket.socket) -> None:
        """Remember an open connection.

        Raises
        ------
        TimeoutError
            If the line has been cut already; the connection is then closed.
        """
        with self._lock:
            if self._is_cut:
                connection.close()
                raise TimeoutError
            self._handles.append(connection.dup())

    def cut(self) -> None:
        """Shut every connection down, whoever waits on it, and let none be opened."""
        with self._lock:
            self._is_cut = True
            for handle in self._handles:
                with suppress(OSError), handle:
                    handle.shutdown(socket.SHUT_RDWR)
            self._handles.clear()


def in_time(work: Callable[[Line], T], deadline: Deadline) -> T | None:
    """What ``work`` returns, or None if it is not done by then.

    ``work`` must not raise. Late work goes on behind until its connection is cut, or
    the look-up of a name ends; nothing waits for it.
    """
    line = Line()
    done: list[T] = []
    thread = threading.Thread(
        target=lambda: done.append(work(line)), name=THREAD, daemon=True
    )
    thread.start()
    try:
        while thread.is_alive() and deadline.left():
            thread.join(min(deadline.left(), SLICE_S))
    finally:
        # What comes after the cut is no result: a body may end because of it.
        result = done[0] if done else None
        line.cut()
    if result is None:
        thread.join(GRACE_S)
    return result
