"""Past forecasts of a farm's place, and what was observed there."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.checked import check
from forecaster.domain.spraying.chance import chance_of
from forecaster.errors import (
    DataError,
    InputMissingError,
    NoWeatherError,
    UsageError,
)
from forecaster.service.asker import asker_for
from forecaster.service.date_hindcast import date_hindcast
from forecaster.service.hindcast import Bench, hindcast
from forecaster.service.judging import limits_for
from forecaster.service.open_weather import past_days
from forecaster.service.quality_view import checked_record, lines
from forecaster.service.replay import Replayed
from forecaster.service.weather import with_pressure
from forecaster.settings.error_file import LEAST_HOURS, errors_text
from forecaster.sources import openmeteo_previous
from forecaster.sources.kept_forecasts import read_kept
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
    kept: Path | None = None,
    mapping: Path | None = None,
    offline: bool = False,
) -> Hindcast:
    """Score past forecasts with one active's label.

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
    kept : Path, optional
        A folder of the farm's own kept forecasts to replay instead.
    mapping : Path, optional
        A mapping file of what was observed. Without it the farm's own station stands
        for it where kept forecasts are replayed, else the service's latest values.
    offline : bool
        Ask no service.

    Raises
    ------
    UsageError
        If the active is unknown or has no confirmed label number, or nothing that was
        observed is named for kept forecasts.
    InputMissingError
        If a file or folder is missing.
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
    limits = limits_for(farm, farm.actives[active], label.weeds[0])
    chance = partial(chance_of, errors=farm.errors)
    if kept is not None:
        return _of_kept(farm, kept, mapping, Bench.of(farm.place, limits, None, chance))
    parsed = _previous(farm, now, saved, offline=offline)
    observed, notes = _observed(farm, parsed, mapping)
    leads = {
        day: with_pressure(frame, farm.place) for day, frame in parsed.leads.items()
    }
    if not leads:
        raise DataError("the answer holds no earlier forecast (_previous_day1 …)")
    found = hindcast(
        with_pressure(observed, farm.place), leads, farm.place, limits, chance=chance
    )
    return replace(found, notes=notes)


def _of_kept(farm: Farm, folder: Path, mapping: Path | None, bench: Bench) -> Hindcast:
    """The farm's own kept forecasts against what was observed."""
    seen = mapping or observed_here(farm)
    if seen is None:
        raise UsageError(
            "kept forecasts are held against what was observed; name its mapping file "
            "with --weather, or as weather.station in the farm file"
        )
    observed, failed = checked_record(seen)
    why: dict[str, list[str]] = {}
    replayed = Replayed(
        bench, lambda name, fault: why.setdefault(fault, []).append(name)
    )
    replayed.take(read_kept(folder, farm.place, replayed.tell))
    try:
        found = replayed.report(with_pressure(observed, farm.place))
    except DataError as error:
        raise DataError("\n".join([f"{folder}: {error}", *_passed_over(why)])) from None
    return replace(found, notes=(*failed, *_passed_over(why)))


def _passed_over(why: dict[str, list[str]]) -> list[str]:
    """One line for each reason."""
    return [
        f"{names[0]}{f' and {len(names) - 1} more' if names[1:] else ''}: {fault}"
        for fault, names in why.items()
    ]


def observed_here(farm: Farm) -> Path | None:
    """The mapping file of the farm's own station, if it has one."""
    station = farm.weather.station
    return None if station is None else farm.folder / station


def errors_page(found: Hindcast) -> str:
    """The file that ``weather.errors`` of the farm file may name.

    Raises
    ------
    DataError
        If too few hours were held against what came.
    """
    text = errors_text(found)
    if text is None:
        raise DataError(
            f"no errors are written: no age of forecast has {LEAST_HOURS} hours held "
            "against what was observed"
        )
    return text


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


def _observed(
    farm: Farm, parsed: Parsed, mapping: Path | None
) -> tuple[WeatherFrame, tuple[str, ...]]:
    """What came, held to the rules of all weather, and what they took from it."""
    if mapping is not None:
        return checked_record(mapping)
    if parsed.frame is None:
        raise DataError("the answer holds no latest values to stand for what came")
    found = check(parsed.frame, farm.place, fill=False)
    return found.frame, lines(found)
