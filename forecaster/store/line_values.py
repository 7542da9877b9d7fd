"""Values inside the lines of every log, checked as they are read back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.settings.names import name_fault, text_fault

if TYPE_CHECKING:
    from forecaster.domain.withdrawal import Withdrawal

_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


def name_in(value: Any) -> str:
    """A name that people may type.

    Raises
    ------
    ValueError
        If it is none.
    """
    if not isinstance(value, str) or name_fault(value):
        raise ValueError
    return value


def text_in(value: Any) -> str:
    """Words that people may type, or none.

    Raises
    ------
    ValueError
        If they are not.
    """
    if not isinstance(value, str) or text_fault(value):
        raise ValueError
    return value


def matching(pattern: re.Pattern[str], value: Any) -> str:
    """A text that is the pattern as a whole.

    Raises
    ------
    TypeError, ValueError
        If it is not.
    """
    if not pattern.fullmatch(value):
        raise ValueError
    return str(value)


def taken_back_fields(each: Withdrawal) -> dict[str, Any]:
    """The part of a line that every withdrawal has."""
    return {
        "author": each.author,
        "reason": each.reason,
        "recorded": moment_text(each.recorded),
    }


def taken_back_in(fields: dict[str, Any]) -> dict[str, Any]:
    """The same, read back.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is none.
    """
    return {
        "author": name_in(fields["author"]),
        "reason": text_in(fields["reason"]),
        "recorded": moment_in(fields["recorded"]),
    }


def moment_in(value: Any) -> np.datetime64:
    """A moment as :func:`moment_text` writes it.

    Raises
    ------
    TypeError, ValueError
        If it is none.
    """
    return np.datetime64(matching(_MOMENT, value)[:-1], "s")


def moment_text(when: np.datetime64) -> str:
    """``2026-10-14T06:00:00Z``."""
    return f"{when.astype('datetime64[s]')}Z"
