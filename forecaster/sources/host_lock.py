"""One request at a time to each host, over all processes that share a folder."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from forecaster.errors import TemporaryError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from forecaster.sources.deadline import Deadline

POLL_S = 0.02


@contextmanager
def host_lock(
    path: Path, deadline: Deadline, tell: Callable[[str], None]
) -> Iterator[None]:
    """Hold the host; where no lock file can be made, say so and go on without.

    Raises
    ------
    TemporaryError
        If another process keeps the host for the whole time.
    """
    lock = FileLock(path)
    busy = False
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=deadline.left(), poll_interval=POLL_S)
    except Timeout:
        busy = True
    except OSError as error:
        tell(f"no lock file can be made ({error.strerror}); going on without one")
    if busy:
        raise TemporaryError("another run is still asking this service")
    try:
        yield
    finally:
        if lock.is_locked:
            lock.release()
