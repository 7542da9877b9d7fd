"""Numbers given as options, held against what is allowed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

Allowed = tuple[float, float, str]
"""The least, the most, and the unit."""


def check_options(asked: object, allowed: Mapping[str, Allowed]) -> None:
    """Refuse an attribute of ``asked`` that is out of bounds; None is not given.

    Raises
    ------
    UsageError
        With the option, the value and what is allowed.
    """
    for name, (lowest, highest, unit) in allowed.items():
        value = getattr(asked, name)
        if value is not None and not lowest <= value <= highest:
            raise UsageError(
                f"--{name} {value:g}: allowed is {lowest:g} to {highest:,g} {unit}"
            )
