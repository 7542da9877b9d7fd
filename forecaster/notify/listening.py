"""Logs of libraries that carry messages: heard, and let out to nobody.

They may hold addresses, which are secrets. Each thread hears only itself: one that
hangs must not keep the others waiting.
"""

from __future__ import annotations

import logging
import threading
from functools import cache
from typing import Self

HEARD = "apprise"
SILENCED = ("urllib3.connectionpool", "urllib3.util.retry")


class _Ears(logging.Filter):
    """Takes what listening threads say out of the log."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: dict[int, str] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether it goes on to the log."""
        thread = threading.get_ident()
        ours = record.name.startswith(HEARD)
        if thread in self.texts and ours:
            self.texts[thread] += record.getMessage() + "\n"
        return not ours and thread not in self.texts


@cache
def _ears() -> _Ears:
    """Put on once; the library's own log is never let out again."""
    ears = _Ears()
    logging.getLogger(HEARD).setLevel(logging.DEBUG)
    for name in (HEARD, *SILENCED):
        logging.getLogger(name).addFilter(ears)
    return ears


class Listening:
    """While it lasts, hears what the libraries say in this thread."""

    text = ""

    def __enter__(self) -> Self:
        _ears().texts[threading.get_ident()] = ""
        return self

    def __exit__(self, *_: object) -> None:
        self.text = _ears().texts.pop(threading.get_ident(), "")
