"""What was observed in the hours of a job: by the farm's station, else as known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.record.log import Beside, SeenHour
from forecaster.domain.spraying.limits import Quantity
from forecaster.domain.spraying.quantities import measure
from forecaster.domain.weather import HOUR, Origin
from forecaster.errors import ForecasterError
from forecaster.service.weather import load_weather, with_pressure

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.domain.record.job import Job
    from forecaster.domain.spraying.quantities import Air
    from forecaster.domain.weather import Bools, Times, WeatherFrame
    from forecaster.settings.farm import Farm

NONE_YET = (
    "no observed hours stand beside it: the weather has none yet. Once it has, "
    "'forecaster record --correct' with its number takes them in"
)
ANALYSIS = "its analysis of the hour, not measured"


def observed_in(
    farm: Farm, job: Job, clock_now: np.datetime64
) -> tuple[Beside | None, tuple[str, ...]]:
    """Hours observed during a job, all from one place, or why there are none.

    Those of the farm's own station where it has any; only then what else is known. The
    source says how far off a station stands, and whether anything was measured at all.
    """
    try:
        if farm.weather.kind == "open" and farm.weather.station is not None:
            found = _of_station(farm, farm.folder / farm.weather.station, job)
            if found is not None:
                return found, ()
        found = _of_weather(farm, job, clock_now)
    except ForecasterError as error:
        return None, (f"no observed hours stand beside it: {error}",)
    return found, () if found is not None else (NONE_YET,)


def _of_station(farm: Farm, mapping: Path, job: Job) -> Beside | None:
    from forecaster.sources.csv_file import read_csv

    imported = read_csv(mapping)
    said = _away(farm, imported.place)
    aged = imported.frame.provenance.issued
    return _beside(imported.frame, imported.place, job, aged=aged, said=said)


def _of_weather(farm: Farm, job: Job, clock_now: np.datetime64) -> Beside | None:
    at = f"{job.finish}Z"
    weather = load_weather(farm, clock_now, at=at, offline=True)
    said = {"open": ANALYSIS, "csv": _away(farm, weather.place)}
    return _beside(
        weather.frame, weather.place, job,
        aged=weather.aged_at, said=said.get(farm.weather.kind, ""),
    )  # fmt: skip


def _away(farm: Farm, place: Place) -> str:
    far = farm.place.kilometres_to(place.latitude, place.longitude)
    return f"measured {far:.0f} km from the farm"


def _beside(
    frame: WeatherFrame, place: Place, job: Job, *, aged: np.datetime64, said: str
) -> Beside | None:
    """The observed hours of the job in a table; None where it has none."""
    rows = inside(frame.time, job) & (frame.origin == Origin.OBSERVED)
    if not rows.any():
        return None
    first, last = frame.time[rows][0], frame.time[rows][-1]
    cut = with_pressure(frame.between(first, last + HOUR), place)
    air = measure(cut, place, aged)
    seen = np.flatnonzero(inside(cut.time, job) & (cut.origin == Origin.OBSERVED))
    source = ", ".join(each for each in (frame.provenance.source, said) if each)
    hours = tuple(hour_of(air, int(row)) for row in seen)
    return Beside(source, frame.provenance.issued, hours)


def inside(time: Times, job: Job) -> Bools:
    """Hours that share a moment with the job."""
    shared: Bools = (time + HOUR > job.start) & (time < job.finish)
    return shared


def hour_of(air: Air, row: int, verdict: str = "") -> SeenHour:
    """One hour as a record keeps it."""
    frame = air.frame
    return SeenHour(
        time=frame.time[row],
        wind_speed=float(frame.wind_speed[row]),
        wind_from=float(frame.wind_from[row]),
        temperature=float(frame.air_temperature[row]),
        humidity=float(frame.relative_humidity[row]),
        delta_t=float(air.measured[Quantity.DELTA_T][row]),
        rain=float(frame.rain[row]),
        verdict=verdict,
    )
