"""The only place that reads the clock."""

from __future__ import annotations

import datetime as dt

import numpy as np


def utc_now() -> np.datetime64:
    """The present moment, UTC, in whole seconds."""
    now = dt.datetime.now(tz=dt.UTC)  # noqa: TID251 - this is that place
    return np.datetime64(now.replace(tzinfo=None, microsecond=0), "s")
