"""A number that knows where it comes from.

Every weed parameter and every limit is one of these; a bare number never reaches
the model from a file.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mark(StrEnum):
    """How well a number is known."""

    PUBLISHED = "published"
    """Read in the named source itself."""
    EXCERPT = "published, seen in excerpt"
    """Published, but only an excerpt or abstract was seen."""
    DERIVED = "derived"
    """Worked out from other marked numbers."""
    MEMORY = "from memory"
    """The likely source is named but was not checked."""
    PRACTICE = "common practice, no source"
    """A fact of the trade."""
    ASSUMED = "assumed"
    """Our own choice; carries no authority."""
    USER = "typed by the user"
    """Read off a label or chosen by the person who runs the farm."""


@dataclass(frozen=True, slots=True)
class Sourced:
    """A value with its unit, plausible range and origin.

    ``low`` ≤ ``value`` ≤ ``high``, all in ``unit``. ``page`` is the page, table,
    section or clause of ``source``.
    """

    value: float
    unit: str
    low: float
    high: float
    source: str
    page: str
    mark: Mark
