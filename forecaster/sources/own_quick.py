"""The quick way through a table of ours that has nothing odd in it.

NumPy's own text reader takes about a third of the time of cells read one by one. It
says little about what is wrong, so a table with anything unusual in it is left to
the slow way, which does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.sources.text_file import Screened

_UNUSUAL = (" ", "\t", '"', "_", "nan")
_WIDTH = 24
"""Letters kept of a text cell: more than a good one has, so a long one shows."""


def quick_block(
    screened: Screened, header: Sequence[str], words: Sequence[str]
) -> Any | None:
    """The rows as a structured array, text for ``words`` and numbers for the rest.

    Empty cells are NaN. None if the slow way is needed.
    """
    with screened.path.open(encoding=screened.encoding) as text:
        if text.readline().rstrip("\n").split(",") != list(header):
            return None
        body = text.read()
    if not body.strip() or not body.isascii():
        return None
    lower = body.lower()
    if any(odd in lower for odd in _UNUSUAL):
        return None
    # A word in a middle column may be left out, and is no number then.
    if ",," in body and any(name in words for name in header[1:-1]):
        return None
    # Twice, since the second of three commas in a row is taken by the first match.
    body = body.replace(",,", ",nan,").replace(",,", ",nan,")
    if header[-1] not in words:
        body = body.replace(",\n", ",nan\n")
    kinds = [(name, f"U{_WIDTH}" if name in words else "f8") for name in header]
    try:
        return np.loadtxt(
            body.splitlines(), delimiter=",", dtype=kinds, comments=None, ndmin=1
        )
    except ValueError:
        return None
