"""The one weather table the model reads: equal-length arrays on UTC hours.

Row ``t`` stands for the hour from ``t`` to ``t + 1 h``. Instant quantities
(temperature, humidity, pressure, wind, cloud) are the value at ``t``; rain is the
sum, gust the maximum and radiation the mean over that hour. Each source converts
its own convention to this one.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from enum import IntEnum
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from forecaster.domain.marks import Marks, take_all

if TYPE_CHECKING:
    from collections.abc import Mapping

Floats: TypeAlias = npt.NDArray[np.float64]
Bools: TypeAlias = npt.NDArray[np.bool_]
Times: TypeAlias = npt.NDArray[np.datetime64]
Codes: TypeAlias = npt.NDArray[np.uint8]

HOUR = np.timedelta64(3600, "s")
"""The step of every weather table."""


class Origin(IntEnum):
    """What kind of knowledge an hour rests on."""

    MISSING = 0
    OBSERVED = 1
    FORECAST = 2
    REPLAYED = 3
    """Observed later, but read here as if it were the forecast."""


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where a table came from, printed on every page.

    ``issued`` is the time the newest forecast run or observation was made, UTC.
    """

    source: str
    licence: str
    issued: np.datetime64
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WeatherFrame:
    """Hourly weather at one place, NaN = missing.

    ``time``: UTC, ``datetime64[s]``, whole hours, strictly one hour apart. Every
    other array has shape (hours,), or (members, hours) for an ensemble.
    """

    time: Times
    air_temperature: Floats
    """[°C] at screen height."""
    relative_humidity: Floats
    """[%]"""
    pressure: Floats
    """[hPa] at the site, not reduced to sea level."""
    wind_speed: Floats
    """[m/s] mean at 10 m."""
    wind_from: Floats
    """[°] clockwise from true north, the side the wind blows from."""
    wind_gust: Floats
    """[m/s] at 10 m, highest in the hour."""
    rain: Floats
    """[mm] in the hour."""
    rain_chance: Floats
    """[%] chance of measurable rain in the hour."""
    cloud: Floats
    """[share 0…1] total cloud."""
    low_cloud: Floats
    """[share 0…1] low cloud."""
    radiation: Floats
    """[W/m²] global short-wave, mean of the hour."""
    air_temperature_80m: Floats
    """[°C] about 80 m above ground."""
    origin: Codes
    """:class:`Origin` of each hour."""
    provenance: Provenance = field(compare=False)
    native_step: Floats = field(default_factory=lambda: np.ones(()))
    """[h] between the source's own steps; over 1 the hours between are drawn in."""
    marks: Mapping[str, Marks] = field(default_factory=dict, compare=False)
    """What was said against the values, by column; none where nothing was."""

    def __post_init__(self) -> None:
        """Freeze the arrays; refuse unequal lengths and uneven hours.

        Raises
        ------
        ValueError
            If lengths differ, the hours are not evenly one apart, or marks are not in
            the shape of their column.
        """
        step = np.broadcast_to(self.native_step, self.time.shape)
        object.__setattr__(self, "native_step", np.array(step))
        for name in ARRAYS:
            array = getattr(self, name)
            if array.shape[-1:] != self.time.shape:
                raise ValueError(
                    f"{name} has shape {array.shape}, time has {self.time.shape}"
                )
            array.flags.writeable = False
        for name, marks in self.marks.items():
            if name not in QUANTITIES or marks.bits.shape != getattr(self, name).shape:
                raise ValueError(
                    f"marks of {name}: {marks.bits.shape} is not its shape"
                )
        if self.time.size > 1 and not bool(np.all(np.diff(self.time) == HOUR)):
            raise ValueError("the hours of a weather table must be one hour apart")

    def __len__(self) -> int:
        return int(self.time.size)

    def between(self, start: np.datetime64, end: np.datetime64) -> WeatherFrame:
        """The rows with ``start`` ≤ time < ``end``."""
        keep = slice(*np.searchsorted(self.time, [start, end]).tolist())
        return replace(
            self,
            **{name: getattr(self, name)[..., keep] for name in ARRAYS},
            marks=take_all(self.marks, keep),
        )

    def marks_of(self, name: str) -> Marks:
        """What was said against the values of column ``name``."""
        found = self.marks.get(name)
        return Marks.none(getattr(self, name).shape) if found is None else found


ARRAYS: tuple[str, ...] = tuple(
    each.name
    for each in fields(WeatherFrame)
    if each.name not in {"provenance", "marks"}
)
"""Names of all arrays of a table."""
QUANTITIES: tuple[str, ...] = tuple(
    name for name in ARRAYS if name not in {"time", "origin", "native_step"}
)
"""Names of the measured columns, in order."""


def empty_columns(hours: int) -> dict[str, Floats]:
    """All measured columns, wholly missing; a source fills what it has."""
    return {name: np.full(hours, np.nan) for name in QUANTITIES}


def spread(values: Floats, at: npt.NDArray[np.integer], size: int) -> Floats:
    """``values`` on rows ``at`` of a column of ``size``; NaN elsewhere."""
    column = np.full(size, np.nan)
    column[at] = values
    return column
