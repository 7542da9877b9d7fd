"""What an hourly value can be where nothing is mended: own tables and services."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from forecaster.domain.quality import thresholds
from forecaster.domain.quality.thresholds import Range

__all__ = ["RANGES", "Range"]

RANGES: Final[dict[str, Range]] = {
    **thresholds.RANGES,
    "radiation": replace(thresholds.RANGES["radiation"], low=0.0),
}
"""The bounds of quality control, without the sensor's zero below nought."""
