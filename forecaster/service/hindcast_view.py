"""Past forecasts of a farm's place, and what was observed there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.spraying.chance import chance_by_error
from forecaster.errors import (
    DataError,
    InputMissingError,
    NoWeatherError,
    UsageError,
)
from forecaster.service.asker import asker_for
from forecaster.service.date_hindcast import date_hindcast
from forecaster.service.hindcast import hindcast
from forecaster.service.judging import limits_for
from forecaster.service.open_weather import past_days
from forecaster.service.weather import with_pressure
from forecaster.sources import openmeteo_previous
from forecaster.sources.strict_json import LARGEST

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.hindcast_report import Hindcast
    from forecaster.domain.verification.dates import DateErrors
    from forecaster.domain.weather import WeatherFrame
    from forecaster.settings.farm import Farm
    from forecaster.sources.request import Parsed

LONGEST = 92
"""[d] of past forecasts the service keeps for one request."""


def farm_hindcast(
    farm: Farm,
    active: str,
    now: np.datetime64,
    *,
    saved: Path | None = None,
    mapping: Path | None = None,
    offline: bool = False,
) -> Hindcast:
    """Score the forecasts of the last weeks with one active's label.

    Parameters
    ----------
    farm : Farm
        Its place and its confirmed label.
    active : str
        Whose label to judge by.
    now : datetime64
        The moment to ask at, UTC.
    saved : Path, optional
        A saved answer of the previous-runs service to read instead of asking.
    mapping : Path, optional
        A mapping file of what was observed; without it the service's own latest
        values stand for it.
    offline : bool
        Ask no service.

    Raises
    ------
    UsageError
        If the active is unknown or has no confirmed label number.
    DataError
        If nothing was forecast for the hours observed.
    SourceError
        If the service gives nothing usable and nothing is kept.
    """
    if active not in farm.actives:
        raise UsageError(f"--active {active!r}: known are {', '.join(farm.actives)}")
    label = farm.labels.get(active)
    if label is None or not label.confirmed or not label.weeds:
        raise UsageError(
            f"the label of {active} is not typed and confirmed; a hindcast judges by it"
        )
    parsed = _previous(farm, now, saved, offline=offline)
    observed = _observed(parsed, mapping)
    leads = {
        day: with_pressure(frame, farm.place) for day, frame in parsed.leads.items()
    }
    if not leads:
        raise DataError("the answer holds no earlier forecast (_previous_day1 …)")
    return hindcast(
        with_pressure(observed, farm.place),
        leads,
        farm.place,
        limits_for(farm, farm.actives[active], label.weeds[0]),
        chance=chance_by_error,
    )


def farm_dates(
    farm: Farm, weed: str, now: np.datetime64, *, offline: bool = False
) -> DateErrors:
    """Past seasons of the farm projected as if ahead.

    Raises
    ------
    UsageError
        If the weed is unknown.
    NoWeatherError
        If there are too few past years.
    """
    if weed not in farm.weeds:
        raise UsageError(f"--dates {weed!r}: known are {', '.join(farm.weeds)}")
    table = past_days(farm, now, offline=offline)
    found = (
        None if table is None else date_hindcast(table, farm.place, farm.weeds[weed])
    )
    if found is None:
        raise NoWeatherError(
            "fewer than three whole past years are known here; give past_years, or "
            'kind = "open" with years = 20'
        )
    return found


def _previous(
    farm: Farm, now: np.datetime64, saved: Path | None, *, offline: bool
) -> Parsed:
    if saved is None and farm.weather.kind != "open":
        raise UsageError(
            'this farm asks no service (its weather is not kind = "open"); name a '
            "saved answer with --saved, or score projected dates with --dates WEED"
        )
    asker = asker_for(farm, now, offline=offline)
    request = openmeteo_previous.request(
        farm.place, now, access=asker.access, past_days=LONGEST
    )
    if saved is not None:
        body = _saved(saved)
        return openmeteo_previous.parse(body, replace(request, made=_end_of(body, now)))
    return asker.demand(request, openmeteo_previous.parse).parsed


def _saved(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(LARGEST + 1)
    except OSError as error:
        raise InputMissingError(
            f"{path}: cannot be read ({error.strerror}); check the name"
        ) from None


def _end_of(body: bytes, now: np.datetime64) -> np.datetime64:
    """The last hour a saved answer names: it was asked about then."""
    import json

    try:
        last = json.loads(body)["hourly"]["time"][-1]
        return np.datetime64(last, "s")
    except (ValueError, KeyError, IndexError, TypeError, RecursionError):
        return now


def _observed(parsed: Parsed, mapping: Path | None) -> WeatherFrame:
    if mapping is not None:
        from forecaster.sources.csv_file import read_csv

        return read_csv(mapping).frame
    if parsed.frame is None:
        raise DataError("the answer holds no latest values to stand for what came")
    return parsed.frame
