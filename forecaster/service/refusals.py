"""Why hours are unknown: the values quality control refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.doubts import doubt_of, unfit
from forecaster.domain.spraying.hours import Why
from forecaster.domain.spraying.reads import reads
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from forecaster.domain.quality.doubts import Doubt
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.spraying.reads import Reads
    from forecaster.domain.weather import WeatherFrame

    Rows = npt.NDArray[np.intp]

_NONE = np.empty(0, dtype=np.intp)


def refused_values(
    frame: WeatherFrame, judgement: Judgement
) -> tuple[tuple[Doubt, ...], ...]:
    """For each hour judged, the refused values its missing quantities lack.

    Parameters
    ----------
    frame : WeatherFrame
        (hours,) with its marks; holds every hour judged.
    judgement : Judgement
        (limits, hours)
    """
    gone = {name: unfit(frame, name) for name in frame.marks}
    if not any(rows.size for rows in gone.values()):
        return ((),) * judgement.time.size
    reading = [reads(limit) for limit in judgement.limits]
    missing = judgement.why == Why.MISSING
    first = int((judgement.time[0] - frame.time[0]) / HOUR)
    return tuple(
        _behind(
            frame,
            gone,
            [reading[number] for number in np.flatnonzero(missing[:, hour]).tolist()],
            first + hour,
        )
        for hour in range(judgement.time.size)
    )


def _behind(
    frame: WeatherFrame, gone: Mapping[str, Rows], reading: Sequence[Reads], row: int
) -> tuple[Doubt, ...]:
    """Refused values that some quantities of one hour are worked out from."""
    found = set()
    for read in reading:
        for name in read.columns:
            rows = gone.get(name, _NONE)
            span = np.searchsorted(rows, [row - read.before, row + read.after + 1])
            found |= {(at, name) for at in rows[slice(*span.tolist())].tolist()}
    return tuple(doubt_of(frame, name, at) for at, name in sorted(found))
