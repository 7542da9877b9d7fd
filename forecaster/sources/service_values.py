"""What every forecast of a service must pass before its values are believed."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite, nan
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.marks import spoken
from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.table import Table
from forecaster.domain.weather import HOUR, QUANTITIES, Origin, WeatherFrame
from forecaster.errors import UnusableError
from forecaster.sources.ranges import RANGES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from forecaster.domain.marks import Marks
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Bools, Floats, Provenance, Times

FARTHEST = 30.0
"""[km] from the place asked for. Assumed: no model we read has wider cells."""
FIRST_HOURS = 72
"""[h] that must be nearly whole: those a person acts on. Assumed."""
LEAST_KNOWN = 0.9
"""Share of the first hours that must be there. Assumed."""
FROZEN_HOURS = 48
"""[h] of one and the same temperature that no weather has. Assumed."""
MOST_OVER_DEW_POINT = 0.5
"""[K] a dew point may stand above the temperature by rounding. Assumed."""
TYPICAL: dict[str, tuple[float, str]] = {
    "air_temperature": (40.0, "°F"),
    "wind_speed": (12.0, "km/h"),
}
"""A median above this over two days or more is another unit. Assumed."""

_FULL = 100.0
_NUMBERS = {int, float, type(None)}


@dataclass(slots=True)
class Doubts:
    """Counts of values that were dropped or mended, by reason."""

    service: str
    counts: dict[str, int] = field(default_factory=dict)

    def add(self, reason: str, where: Bools) -> None:
        """Count the places where ``reason`` holds."""
        count = int(np.count_nonzero(where))
        if count:
            self.counts[reason] = self.counts.get(reason, 0) + count

    def lines(self) -> tuple[str, ...]:
        """One sentence a reason."""
        return tuple(
            f"{self.service}: {reason} ({count} values)"
            for reason, count in self.counts.items()
        )


def numbers(values: list[Any], where: str) -> Floats:
    """A JSON array of numbers and nulls as floats, NaN = null or overflow.

    Raises
    ------
    UnusableError
        If a value is no number; text and true are none.
    """
    wrong = set(map(type, values)) - _NUMBERS
    if wrong:
        at = next(i for i, each in enumerate(values) if type(each) in wrong)
        raise UnusableError(f"{where}[{at}] is {values[at]!r:.60}, not a number")
    try:
        floats = np.array(values, dtype=np.float64)
    except OverflowError:
        raise UnusableError(f"{where} holds a number too large to be one") from None
    return np.where(np.isfinite(floats), floats, np.nan)


def near(
    latitude: object, longitude: object, place: Place, service: str
) -> tuple[float, float]:
    """The coordinates of an answer, if it is for the place asked for.

    Raises
    ------
    UnusableError
        If the coordinates are not numbers or over 30 km away.
    """
    at = number(latitude), number(longitude)
    away = place.kilometres_to(*at)
    if not away <= FARTHEST:
        raise UnusableError(
            f"{service}: the answer is for {latitude!r:.40}, {longitude!r:.40}, not "
            f"within {FARTHEST:g} km of {place.latitude:g}, {place.longitude:g}"
        )
    return at


def number(value: object) -> float:
    """One JSON number; NaN for anything else, text and true included."""
    if type(value) not in {int, float}:
        return nan
    try:
        found = float(value)  # type: ignore[arg-type]  # just checked
    except OverflowError:
        return nan
    return found if isfinite(found) else nan


def believable(
    columns: Mapping[str, Floats], doubts: Doubts
) -> tuple[dict[str, Floats], dict[str, Marks]]:
    """Columns without what cannot be: NaN, counted, never a zero; and their marks.

    ``dew_point`` only serves to test the humidity and is left out. Gust and mean
    wind are compared under one label, so before any hour is moved.
    """
    table = Table.of({name: each + 0.0 for name, each in columns.items()}, {})
    for name, values in table.values.items():
        outside = RANGES[name].outside(values)
        doubts.add(f"{name} outside {RANGES[name]} dropped", outside)
        table = table.remove(name, Flag.OUT_OF_RANGE, outside)
    if "relative_humidity" in columns:
        over = table.values["relative_humidity"] > _FULL
        doubts.add("relative_humidity over 100 % set to 100 %", over)
        table = table.change("relative_humidity", Flag.CLIPPED, over, _FULL)
    if {"dew_point", "air_temperature", "relative_humidity"} <= columns.keys():
        most = table.values["air_temperature"] + MOST_OVER_DEW_POINT
        wrong = table.values["dew_point"] > most
        doubts.add("humidity dropped, the dew point is above the temperature", wrong)
        table = table.remove("relative_humidity", Flag.DEW_POINT_ABOVE_AIR, wrong)
    if {"wind_gust", "wind_speed"} <= columns.keys():
        below = table.values["wind_gust"] < table.values["wind_speed"]
        doubts.add("gust below the mean wind dropped", below)
        table = table.remove("wind_gust", Flag.GUST_BELOW_MEAN, below)
    kept = {name: each for name, each in table.values.items() if name != "dew_point"}
    return kept, {n: each for n, each in spoken(table.marks).items() if n in kept}


def refuse_frozen(columns: Mapping[str, Floats], service: str) -> None:
    """Refuse a temperature that stands still, and medians of another unit.

    Raises
    ------
    UnusableError
        Either way.
    """
    same = np.diff(columns["air_temperature"], axis=-1) == 0
    runs = same.cumsum(axis=-1)
    width = FROZEN_HOURS - 1
    before = np.zeros((*runs.shape[:-1], 1), dtype=runs.dtype)
    runs = np.concatenate([before, runs], axis=-1)
    if runs.shape[-1] > width and np.any(
        runs[..., width:] - runs[..., :-width] == width
    ):
        raise UnusableError(
            f"{service}: the temperature is the same for {FROZEN_HOURS} hours or more"
        )
    for name, (most, unit) in TYPICAL.items():
        values = columns.get(name)
        if values is None:
            continue
        known = values[~np.isnan(values)]
        if known.size >= FROZEN_HOURS and np.median(known) > most:
            raise UnusableError(
                f"{service}: the median {name} is {np.median(known):g} "
                f"{RANGES[name].unit}; over {most:g} it is probably in {unit}"
            )


def refuse_thin(
    columns: Mapping[str, Floats], required: Iterable[str], rows: Bools, service: str
) -> None:
    """Refuse an answer whose first hours have holes.

    Raises
    ------
    UnusableError
        If a required quantity is absent, or known in under 90 % of ``rows`` by any
        member.
    """
    faults = thin(columns, required, rows)
    if faults:
        raise UnusableError(f"{service}: {'; '.join(faults)}")


def thin(
    columns: Mapping[str, Floats], required: Iterable[str], rows: Bools
) -> list[str]:
    """What keeps an answer from being whole, one phrase a fault; empty if it is."""
    if not rows.any():
        return ["the answer holds no hour that is asked for"]
    wanted = list(required)
    absent = [name for name in wanted if name not in columns]
    shares = {
        name: _least_known(columns[name][..., rows])
        for name in wanted
        if name in columns
    }
    faults = [f"the answer has no {', '.join(absent)}"] if absent else []
    return faults + [
        f"{name} is known in {share:.0%} of the first {int(rows.sum())} steps; at "
        f"least {LEAST_KNOWN:.0%} are needed"
        for name, share in shares.items()
        if share < LEAST_KNOWN
    ]


def _least_known(values: Floats) -> float:
    """Share of the steps that the least knowing member knows."""
    return float((~np.isnan(values)).mean(axis=-1).min())


def first_rows(time: Times, start: np.datetime64) -> Bools:
    """The rows of the 72 hours from the hour of ``start`` on."""
    begin = start.astype("datetime64[h]").astype("datetime64[s]")
    rows: Bools = (time >= begin) & (time < begin + FIRST_HOURS * HOUR)
    return rows


def refuse_other_time(time: Times, made: np.datetime64, service: str) -> None:
    """Refuse a forecast that does not hold the moment of asking.

    Raises
    ------
    UnusableError
        If it begins more than an hour later or ended before.
    """
    if time[0] > made + HOUR or time[-1] < made - HOUR:
        raise UnusableError(
            f"{service}: the hours run from {time[0]}Z to {time[-1]}Z; asked at {made}Z"
        )


def frame_of(
    time: Times,
    columns: Mapping[str, Floats],
    *,
    provenance: Provenance,
    native_step: Floats,
    marks: Mapping[str, Marks],
) -> WeatherFrame:
    """The table of a forecast; what the service lacks is wholly NaN."""
    shape = next(iter(columns.values())).shape
    whole = {
        name: np.array(columns.get(name, np.full(shape, np.nan))) for name in QUANTITIES
    }
    known = np.any([~np.isnan(values) for values in columns.values()], axis=0)
    known = known.reshape(-1, time.size).any(axis=0)
    return WeatherFrame(
        time=time,
        **whole,
        origin=np.where(known, Origin.FORECAST, Origin.MISSING).astype(np.uint8),
        provenance=provenance,
        native_step=native_step,
        marks=marks,
    )
