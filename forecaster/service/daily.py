"""The daily line: weather in, one frozen Outlook out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.outlook import (
    NearView,
    Outlook,
    OwnChoice,
    PaddockOutlook,
    WeatherView,
)
from forecaster.domain.sourced import Mark
from forecaster.domain.weather import HOUR
from forecaster.service import cautions, views
from forecaster.service.after_view import after_view
from forecaster.service.look_view import look_view, uneven_view
from forecaster.service.stock_view import stock_view
from forecaster.service.weather import hours_to_judge
from forecaster.service.week_views import barred_wind

if TYPE_CHECKING:
    from forecaster.domain.weather import WeatherFrame
    from forecaster.service.farm_day import FarmDay
    from forecaster.service.growing import Growth
    from forecaster.service.weather import FarmWeather
    from forecaster.settings.farm import Farm, Paddock


def outlook(day: FarmDay, *, demo: bool = False) -> Outlook:
    """The weekly outlook of a farm; same inputs, same outlook.

    One paddock's failure is told in its place and never stops the others.
    """
    farm, weather = day.farm, day.weather
    paddocks = tuple(paddock_outlook(day, paddock) for paddock in farm.paddocks)
    _, until = hours_to_judge(weather)
    begun = day.growth.begun
    return Outlook(
        farm=farm.name,
        place=weather.place,
        now=weather.now,
        until=until,
        demo=demo,
        weather=weather_view(weather, day.growth),
        season_break=None if np.isnat(begun.day) else begun.day,
        season_break_how=begun.how,
        paddocks=paddocks,
        own_choices=_own_choices(farm),
        cautions=cautions.lines(farm),
    )


def paddock_outlook(day: FarmDay, paddock: Paddock) -> PaddockOutlook:
    """One paddock of the outlook, or why there is none."""
    bare = _bare(day.farm, paddock)
    try:
        bare = replace(bare, after=after_view(day, paddock))
        return replace(bare, **_told(day, paddock))
    except Exception as error:  # noqa: BLE001 - one paddock must never stop the others
        return replace(bare, fault=f"{type(error).__name__}: {error}")


def _told(day: FarmDay, paddock: Paddock) -> dict[str, Any]:
    projection = day.growth.projection(paddock.target, paddock)
    uneven = uneven_view(day, paddock, projection)
    return {
        "stage": views.stage_view(projection, day.growth.season, day.weather.now),
        "look": look_view(day, paddock, projection),
        "uneven": uneven,
        "actives": tuple(
            views.active_outlook(
                day, paddock, day.farm.actives[active], projection,
                uneven=uneven is not None,
            )
            for active in paddock.actives
        ),
        "stock": stock_view(day, paddock, projection),
    }  # fmt: skip


def _bare(farm: Farm, paddock: Paddock) -> PaddockOutlook:
    """What is known of a paddock before anything is worked out."""
    others = sorted(
        (weed for weed in paddock.weeds if weed != paddock.target),
        key=lambda weed: -paddock.weeds[weed],
    )
    return PaddockOutlook(
        name=paddock.name,
        hectares=paddock.hectares,
        weed=paddock.target,
        weed_name=farm.weeds[paddock.target].name,
        other_weeds=tuple(farm.weeds[weed].name for weed in others),
        note=paddock.note,
        near=tuple(
            NearView(each.name, each.kind, each.care, each.distance, each.bearing)
            for each in paddock.near
        ),
        stage=None,
        actives=(),
        warning=cautions.toxicity(farm, paddock),
        barred_wind=barred_wind(paddock),
        id=paddock.id,
        sprayed=None
        if paddock.sprayed is None
        else np.datetime64(paddock.sprayed, "D"),
    )


def weather_view(weather: FarmWeather, growth: Growth) -> WeatherView:
    """Where the weather came from, and how old it is."""
    frame: WeatherFrame = weather.frame
    issued = frame.provenance.issued
    return WeatherView(
        source=frame.provenance.source,
        licence=frame.provenance.licence,
        issued=issued,
        age_hours=float((weather.aged_at - issued) / HOUR),
        first_hour=frame.time[0],
        last_hour=frame.time[-1],
        traces=growth.traces,
        warnings=warnings_of(weather, growth),
        notes=weather.notes,
        invented=weather.invented,
    )


def warnings_of(weather: FarmWeather, growth: Growth) -> tuple[str, ...]:
    """What a reader must know before anything else."""
    warnings = [*weather.warnings, *growth.scouting.unused]
    if growth.gaps_filled:
        warnings.append(
            f"{growth.gaps_filled} of the season's days lack temperature; they are "
            "filled from past years or their neighbours where that can be done"
        )
    if growth.ends_with_hours:
        warnings.append(
            "no past years to draw on: date ranges hold no weather uncertainty, and "
            "end where the hours end"
        )
    return tuple(warnings)


def _own_choices(farm: Farm) -> tuple[OwnChoice, ...]:
    seen: dict[str, OwnChoice] = {}
    for limits in farm.limits.values():
        for limit in limits:
            if limit.holds or limit.stated.mark is Mark.USER:
                seen[limit.id] = OwnChoice(
                    limit.id, limit.quantity, limit.stated, limit.holds
                )
    return tuple(seen.values())
