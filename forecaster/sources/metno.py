"""MET Norway Locationforecast 2.0, ``complete``: ten days ahead, hourly, then 6-hourly.

=============================  ====================  =========  ===================
theirs                         ours                  unit       valid
=============================  ====================  =========  ===================
air_temperature                air_temperature       celsius    at t
dew_point_temperature          (tests the humidity)  celsius    at t
relative_humidity              relative_humidity     %          at t
air_pressure_at_sea_level      pressure at the site  hPa        at t
wind_speed                     wind_speed            m/s        at t, 10 min mean
wind_from_direction            wind_from             degrees    at t
wind_speed_of_gust             wind_gust             m/s        listed under t
cloud_area_fraction, …_low     cloud, low_cloud      %          at t
next_1_hours:
precipitation_amount           rain                  mm         sum, t to t + 1 h
probability_of_precipitation   rain_chance           %          t to t + 1 h
=============================  ====================  =========  ===================

Rows between 6-hour steps stay empty: wind and rain are not drawn in, and the rain of
six hours is not spread. Source: MET Norway, "General point forecast JSON format" and
"Locationforecast data model" (published), which say that some variables are missing
outside the Nordic area and that the last step has no period.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from forecaster.domain.air.pressure import SEA_LEVEL, standard_pressure
from forecaster.domain.marks import take_all
from forecaster.domain.place import Place
from forecaster.domain.weather import HOUR, Provenance, spread
from forecaster.errors import UnusableError
from forecaster.sources.canonical_url import canonical_url
from forecaster.sources.contact import user_agent
from forecaster.sources.request import Parsed, Request
from forecaster.sources.service_values import (
    Doubts,
    believable,
    first_rows,
    frame_of,
    near,
    number,
    numbers,
    refuse_frozen,
    refuse_other_time,
    refuse_thin,
)
from forecaster.sources.strict_json import decode, quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.weather import Floats, Times

SOURCE: Final = "metno"
PRODUCT: Final = "locationforecast"
NAME: Final = "MET Norway"
LICENCE: Final = "Data from MET Norway (https://api.met.no/), CC BY 4.0"
HOST: Final = "https://api.met.no"
PATH: Final = "/weatherapi/locationforecast/2.0/complete"
FRESH_FOR: Final = 1800
"""[s] Assumed, for when the answer has no ``Expires``; recorded ones were 31 min."""
LONGEST_STEP: Final = 12
"""[h] between two steps; the format's longest period (published)."""
MOST_STEPS: Final = 400


@dataclass(frozen=True, slots=True)
class Variable:
    """One line of the variable map; ``scale`` × theirs = ours."""

    theirs: str
    ours: str
    unit: str
    scale: float = 1.0


INSTANT: Final = (
    Variable("air_temperature", "air_temperature", "celsius"),
    Variable("dew_point_temperature", "dew_point", "celsius"),
    Variable("relative_humidity", "relative_humidity", "%"),
    Variable("air_pressure_at_sea_level", "pressure", "hPa"),
    Variable("wind_speed", "wind_speed", "m/s"),
    Variable("wind_from_direction", "wind_from", "degrees"),
    Variable("wind_speed_of_gust", "wind_gust", "m/s"),
    Variable("cloud_area_fraction", "cloud", "%", 0.01),
    Variable("cloud_area_fraction_low", "low_cloud", "%", 0.01),
)
HOUR_AHEAD: Final = (
    Variable("precipitation_amount", "rain", "mm"),
    Variable("probability_of_precipitation", "rain_chance", "%"),
)
SIX_HOURS: Final = HOUR_AHEAD[:1]
REQUIRED: Final = ("air_temperature", "relative_humidity", "wind_speed")

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


def request(
    place: Place, made: np.datetime64, *, contact: str, base_url: str = HOST
) -> Request:
    """The request; coordinates cut, not rounded, to four decimals, height in metres.

    Raises
    ------
    RefusedError
        If there is no contact: the service blocks who cannot be reached.
    """
    return Request(
        source=SOURCE,
        product=PRODUCT,
        url=canonical_url(
            base_url + PATH,
            {
                "lat": _cut(place.latitude),
                "lon": _cut(place.longitude),
                "altitude": f"{place.elevation:.0f}",
            },
        ),
        place=place,
        made=made,
        fresh_for=FRESH_FOR,
        headers=user_agent(contact, NAME),
    )


def _cut(degrees: float) -> str:
    """Four decimals without rounding; through decimal, as 138.7501 is not binary."""
    return str(Decimal(repr(degrees)).quantize(Decimal("0.0001"), ROUND_DOWN) + 0)


def station_pressure(at_sea_level: Floats, elevation: float) -> Floats:
    """Pressure at the site [hPa] from pressure reduced to sea level.

    Both scaled by the standard atmosphere: p = p₀ (1 − 2.25577·10⁻⁵ z)^5.2559, ASHRAE
    Handbook Fundamentals 2017, chapter 1, equation 3. The air's own temperature is
    left out: at 500 m and 15 K from standard that is about 3 hPa (derived).
    """
    site: Floats = at_sea_level * (standard_pressure(elevation) / SEA_LEVEL)
    return site


def parse(body: bytes, request: Request) -> Parsed:
    """The forecast an answer holds; hours between longer steps are NaN.

    Raises
    ------
    UnusableError
        If it is not a forecast for this place and now, in the units published.
    RefusedError
        If it is an error document.
    """
    document = decode(body, NAME)
    cell = _cell(document, request.place)
    properties = _inside(document, "properties")
    meta = _inside(properties, "meta")
    units, steps = _inside(meta, "units"), _steps(properties)
    time, at = _times(steps)
    refuse_other_time(time, request.made, NAME)
    issued = _moment(meta.get("updated_at"))
    if issued > request.made + HOUR:
        raise UnusableError(f"{NAME}: updated at {issued}Z, after now; check the clock")
    doubts = Doubts(NAME)
    columns = _columns(steps, INSTANT, "instant", units)
    columns |= _columns(steps, HOUR_AHEAD, "next_1_hours", units)
    if "pressure" in columns:
        columns["pressure"] = station_pressure(
            columns["pressure"], request.place.elevation
        )
    known, marks = believable(columns, doubts)
    native = _native_steps(at)
    early = first_rows(time[at], request.made)
    refuse_thin(known, REQUIRED, early, NAME)
    refuse_thin(known, ("rain",), early & (native[at] == 1), NAME)
    rows = {name: spread(values, at, time.size) for name, values in known.items()}
    refuse_frozen(rows, NAME)
    source = np.full(time.size, -1)
    source[at] = np.arange(at.size)
    frame = frame_of(
        time,
        rows,
        provenance=Provenance(NAME, LICENCE, issued),
        native_step=native,
        marks=take_all(marks, source),
    )
    six = _columns(steps, SIX_HOURS, "next_6_hours", units)
    warnings = doubts.lines() + _unspread(six.get("rain"), at, native, time)
    return Parsed(frame=frame, cell=cell, warnings=warnings)


def _inside(outer: Any, name: str) -> dict[str, Any]:
    inner = outer.get(name)
    if not isinstance(inner, dict):
        raise UnusableError(f"{NAME}: {name} is {type(inner).__name__}, not an object")
    return inner


def _cell(document: dict[str, Any], place: Place) -> Place:
    """Longitude, latitude and height of a GeoJSON point, in that order."""
    point = _inside(document, "geometry").get("coordinates")
    if not isinstance(point, list) or len(point) not in {2, 3}:
        raise UnusableError(f"{NAME}: coordinates are {point!r:.60}")
    latitude, longitude = near(point[1], point[0], place, NAME)
    height = number(point[2]) if len(point) > 2 else np.nan  # noqa: PLR2004 the third
    return Place(latitude, longitude, height, place.zone)


def _steps(properties: dict[str, Any]) -> list[dict[str, Any]]:
    steps = properties.get("timeseries")
    if not isinstance(steps, list) or not 1 < len(steps) <= MOST_STEPS:
        raise UnusableError(f"{NAME}: timeseries is no list of 2 to {MOST_STEPS} steps")
    for step in steps:
        if not isinstance(step, dict):
            raise UnusableError(f"{NAME}: a step is {step!r:.60}, not an object")
    return steps


def _moment(text: object) -> np.datetime64:
    try:
        if not isinstance(text, str) or not _TIME.fullmatch(text):
            raise ValueError(text)  # noqa: TRY301 the same fault as an impossible date
        return np.datetime64(text[:-1], "s")
    except ValueError:
        raise UnusableError(
            f"{NAME}: {text!r:.40} is no UTC time like 2026-09-14T20:00:00Z"
        ) from None


def _times(steps: Sequence[dict[str, Any]]) -> tuple[Times, np.typing.NDArray[np.intp]]:
    """All hours from the first to the last step, and the row of each step."""
    moments = np.array([_moment(step.get("time")) for step in steps])
    seconds = (moments - moments[0]).astype(np.int64)
    whole = (moments.astype(np.int64) % 3600 == 0).all()
    at = seconds // 3600
    gaps = np.diff(at)
    if not whole or gaps.min() < 1 or gaps.max() > LONGEST_STEP:
        raise UnusableError(
            f"{NAME}: the steps must be whole hours in order, none twice, at most "
            f"{LONGEST_STEP} h apart; they are {gaps.min()} to {gaps.max()} h apart"
        )
    return moments[0] + np.arange(at[-1] + 1) * HOUR, at.astype(np.intp)


def _columns(
    steps: Sequence[dict[str, Any]],
    variables: Sequence[Variable],
    part: str,
    units: dict[str, Any],
) -> dict[str, Floats]:
    """A value a step for each variable that is there at all."""
    details = [_details(step, part) for step in steps]
    columns = {}
    for each in variables:
        values = [detail.get(each.theirs) for detail in details]
        floats = numbers(values, f"{NAME}: {each.theirs}")
        if bool(np.isnan(floats).all()):
            continue
        if units.get(each.theirs) != each.unit:
            unit = quoted(str(units.get(each.theirs)))
            raise UnusableError(
                f"{NAME}: {each.theirs} is in {unit}, published as {each.unit}"
            )
        columns[each.ours] = floats * each.scale
    return columns


def _details(step: dict[str, Any], part: str) -> dict[str, Any]:
    """``data.part.details``; empty where any of them is left out."""
    inner: Any = step
    for name in ("data", part, "details"):
        inner = inner.get(name, {})
        if not isinstance(inner, dict):
            raise UnusableError(f"{NAME}: {name} is {inner!r:.60}, not an object")
    found: dict[str, Any] = inner
    return found


def _native_steps(at: np.typing.NDArray[np.intp]) -> Floats:
    """[h] from the step a row lies in to the next one; the last as the one before."""
    gaps = np.diff(at).astype(np.float64)
    return np.append(np.repeat(gaps, np.diff(at)), gaps[-1])


def _unspread(
    rain: Floats | None, at: np.typing.NDArray[np.intp], native: Floats, time: Times
) -> tuple[str, ...]:
    """A sentence on the rain of long steps, whose hours nobody knows."""
    long = native[at] > 1
    if rain is None or not long.any():
        return ()
    wet = long & (rain > 0)
    begin, millimetres = time[at[long]][0], float(rain[wet].sum())
    text = (
        f"{NAME}: from {begin}Z steps are up to {native.max():g} h; "
        f"{millimetres:.1f} mm in {int(wet.sum())} of them is not spread"
    )
    return (text,)
