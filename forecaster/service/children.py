"""Programs run beside this one, none for longer than it may."""

from __future__ import annotations

import subprocess
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

GRACE_S = 5.0
"""[s] A program has to end by itself once it was asked to."""


class Children:
    """Every program that was started and has not ended; safe between threads."""

    def __init__(self, most_s: float) -> None:
        """Nothing runs yet; ``most_s`` [s] is how long each may."""
        self._most_s = most_s
        self._running: set[subprocess.Popen[bytes]] = set()
        self._lock = threading.Lock()
        self._closed = False

    def run(self, command: tuple[str, ...]) -> str:
        """Run ``command`` to its end; what went wrong in words, or nothing.

        Its output goes where ours goes, and it has no input.
        """
        try:
            with self._started(command) as child:
                return "" if child is None else self._outcome(child)
        except OSError as error:
            return f"could not be started ({error.strerror or type(error).__name__})"

    def stop(self) -> None:
        """End all that runs, and start nothing any more."""
        with self._lock:
            self._closed = True
            left = tuple(self._running)
        for child in left:
            child.terminate()
        for child in left:
            _ended(child)

    @contextmanager
    def _started(
        self, command: tuple[str, ...]
    ) -> Iterator[subprocess.Popen[bytes] | None]:
        with self._lock:
            if self._closed:
                child = None
            else:
                child = subprocess.Popen(command, stdin=subprocess.DEVNULL)  # noqa: S603 - our own program
                self._running.add(child)
        try:
            yield child
        finally:
            if child is not None:
                with self._lock:
                    self._running.discard(child)

    def _outcome(self, child: subprocess.Popen[bytes]) -> str:
        try:
            code = child.wait(self._most_s)
        except subprocess.TimeoutExpired:
            child.terminate()
            _ended(child)
            return f"did not end within {self._most_s:.0f} s and was stopped"
        return f"ended with code {code}" if code and not self._closed else ""


def _ended(child: subprocess.Popen[bytes]) -> None:
    """Wait for a program that was asked to end; make it if it does not."""
    try:
        child.wait(GRACE_S)
    except subprocess.TimeoutExpired:
        child.kill()
        child.wait()
