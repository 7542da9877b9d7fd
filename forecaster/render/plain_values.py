"""Moments and numbers as files for machines hold them."""

from __future__ import annotations

import math

import numpy as np


def iso(moment: np.datetime64 | None) -> str | None:
    """``2026-10-11T20:00:00Z``; None where there is no time."""
    if moment is None or np.isnat(moment):
        return None
    return f"{np.datetime_as_string(moment, unit='s')}Z"


def number(value: float | None) -> float | None:
    """Rounded to four places; None where not finite."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, 4) + 0.0  # never minus nought
