"""An answer cut at any byte is never taken for a whole one."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from forecaster.errors import RefusedError, UnusableError

if TYPE_CHECKING:
    from tests.adapters.services.conftest import Case

SHORT = {
    "forecast": slice(74),
    "profile": slice(26),
    "ensemble": slice(26),
    "previous": slice(92, 118),
    "archive": slice(64),
}
"""Hours that keep each answer good and the test quick; its cost grows as their square.

An answer about now must hold the hour it was asked in: that of "previous" is in its
last day.
"""


def short(cases: dict[str, Case], product: str) -> bytes:
    """A small whole answer."""
    case = cases[product]
    if product in SHORT:
        document = case.some_hours(SHORT[product])
    elif product == "metno":
        document = case.document
        del document["properties"]["timeseries"][6:]
    else:
        return case.body
    return json.dumps(document, ensure_ascii=False).encode()


@pytest.mark.parametrize("product", [*SHORT, "metno", "status", "silo", "silo short"])
def test_a_cut_at_every_byte_is_refused(cases: dict[str, Case], product: str) -> None:
    """Nothing but our own two refusals, and never accepted."""
    case, body = cases[product], short(cases, product)
    case.read(body)
    for end in range(len(body)):
        with pytest.raises((UnusableError, RefusedError)):
            case.read(body[:end])


@pytest.mark.parametrize("product", [*SHORT, "metno", "status", "silo"])
def test_words_after_the_end_are_refused(cases: dict[str, Case], product: str) -> None:
    """A whole answer and a sentence, or the answer twice."""
    case, body = cases[product], short(cases, product)
    for tail in (b"Unexpected error while streaming data", body):
        with pytest.raises(UnusableError):
            case.read(body + tail)
