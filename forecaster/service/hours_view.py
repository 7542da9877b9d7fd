"""The week of one paddock, hour by hour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.paddock_hours import HourView, PaddockHours
from forecaster.domain.quality.doubts import by_hour
from forecaster.domain.spraying.limits import Quantity, Verdict
from forecaster.domain.weather import HOUR
from forecaster.service.chance import chance_basis, label_chances
from forecaster.service.judging import judge_paddock
from forecaster.service.refusals import refused_values

if TYPE_CHECKING:
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.actives import Active
    from forecaster.settings.farm import Paddock


def paddock_hours(day: FarmDay, paddock: Paddock, active: Active) -> PaddockHours:
    """Judge ``paddock`` and keep every reason of every hour."""
    judgement = judge_paddock(day.farm, day.air, paddock, active, paddock.target)
    air = day.air.air
    rows = day.air.rows
    wind_from = air.frame.wind_from[rows]
    delta_t = air.measured[Quantity.DELTA_T][rows]
    risk = air.inversion_risk(paddock.exposure)[rows]
    chance = label_chances(day.air, paddock, judgement, day.farm.errors)
    frame = day.weather.frame
    flagged = by_hour(frame.between(judgement.time[0], judgement.time[-1] + HOUR))
    refused = refused_values(frame, judgement)
    return PaddockHours(
        farm=day.farm.name,
        paddock=paddock.name,
        active=active.name,
        weed_name=day.farm.weeds[paddock.target].name,
        place=day.weather.place,
        now=day.weather.now,
        invented=day.weather.invented,
        basis=chance_basis(day.air, judgement, day.farm.errors),
        hours=tuple(
            HourView(
                time=time,
                verdict=Verdict(int(judgement.verdict[row])),
                chance=float(chance[row]),
                wind_from=float(wind_from[row]),
                wind_speed=float(air.frame.wind_speed[rows][row]),
                delta_t=float(delta_t[row]),
                inversion_risk=float(risk[row]),
                rain=float(air.frame.rain[rows][row]),
                towards=downwind(paddock, float(wind_from[row])),
                reasons=judgement.reasons(row),
                flagged=flagged[row],
                refused=refused[row],
            )
            for row, time in enumerate(judgement.time)
        ),
    )


def downwind(paddock: Paddock, wind_from: float) -> tuple[str, ...]:
    """Names of the sensitive areas that lie downwind; none where it is not known."""
    if np.isnan(wind_from):
        return ()
    side = round(wind_from) % 360
    return tuple(area.name for area in paddock.near if area.exposed[side])
