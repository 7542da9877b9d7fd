"""A farm's day with the forecast that was known at a moment, for what is told later."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import SourceError
from forecaster.service.asker import FOLDER, kept_folders
from forecaster.service.farm_day import FarmDay
from forecaster.service.weather import LATER_WARNING, whole
from forecaster.sources import openmeteo_status
from forecaster.sources.kept_forecasts import SINGLES
from forecaster.sources.recent_forecasts import newest_single

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame


def known_then(day: FarmDay) -> FarmDay | None:
    """The same day on the newest kept forecast that had come by its moment.

    None where the farm asks no service, or none of that age is kept. What many
    forecasts said of the chances is not kept and is left out.
    """
    if day.farm.weather.kind != "open":
        return None
    weather = day.weather
    frame = _frame(day)
    if frame is None:
        return None
    then = replace(
        weather,
        frame=frame,
        members=None,
        asked_at=None,
        warnings=tuple(each for each in weather.warnings if each != LATER_WARNING),
    )
    return FarmDay.of(day.farm, whole(then), day.growth.looks)


def _frame(day: FarmDay) -> WeatherFrame | None:
    folders = kept_folders(day.farm.folder / FOLDER)
    kept = newest_single(folders, day.farm.place, day.weather.now)
    if kept is None:
        return None
    try:
        frame = kept.parsed().frame
    except SourceError:
        return None
    if frame is None or kept.product != SINGLES[0]:
        return frame
    never = np.datetime64("NaT", "s")
    return openmeteo_status.dated(frame, kept.request.made, None, never)
