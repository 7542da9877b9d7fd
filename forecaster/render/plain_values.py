"""Moments and numbers as files for machines hold them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.withdrawal import Withdrawal


def iso(moment: np.datetime64 | None) -> str | None:
    """``2026-10-11T20:00:00Z``; None where there is no time."""
    if moment is None or np.isnat(moment):
        return None
    return f"{np.datetime_as_string(moment, unit='s')}Z"


def taken_back(each: Withdrawal | None) -> dict[str, str | None] | None:
    """Who took an entry back, why and when; None where it stands."""
    if each is None:
        return None
    return {
        "author": each.author,
        "reason": each.reason,
        "recorded": iso(each.recorded),
    }


def number(value: float | None) -> float | None:
    """Rounded to four places; None where not finite."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, 4) + 0.0  # never minus nought
