"""One command that does several things: which of them a command line asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping


def chosen(named: set[str], beside: Mapping[str, set[str]]) -> str:
    """The mode whose option is among ``named``, else the first, which has none.

    ``beside`` holds what may stand beside each mode.

    Raises
    ------
    UsageError
        If it asks for two at once, or holds what does not belong there.
    """
    plain, *others = beside
    mode = next((each for each in others if each in named), plain)
    strange = sorted(named - beside[mode] - {mode})
    if strange:
        allowed = ", ".join(sorted(beside[mode])) or "nothing"
        raise UsageError(
            f"{strange[0]} does not go with {mode}; allowed is {allowed}. See --help."
        )
    return mode
