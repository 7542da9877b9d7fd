"""What a check sees: the farm and its windows, or why there is nothing to see."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.alerts.reading import FarmReading, Reading
from forecaster.errors import ForecasterError

if TYPE_CHECKING:
    import numpy as np

    from forecaster.settings.farm import Farm


@dataclass(frozen=True, slots=True)
class Sight:
    """The farm and every window at one moment."""

    farm: FarmReading
    windows: tuple[Reading, ...] | None
    """None: no weather, so nothing is known of any."""
    code: int = 0
    """Exit code of what went wrong."""
    notes: tuple[str, ...] = ()


def look(farm: Farm, now: np.datetime64, *, offline: bool = False) -> Sight:
    """Read weather, looks and windows of a farm; want of weather is an answer, too."""
    from forecaster.service.farm_day import FarmDay
    from forecaster.service.farm_looks import load_looks
    from forecaster.service.farm_sprayed import farm_on
    from forecaster.service.moments import local_day
    from forecaster.service.readings import basis_of, farm_reading, readings
    from forecaster.service.weather import load_weather

    basis = basis_of(farm)
    try:
        weather = load_weather(farm, now, offline=offline)
        looks, told = load_looks(farm)
        today = local_day(weather.now, weather.place.zone)
        then, said = farm_on(farm, weather.now, today)
        day = FarmDay.of(then, weather, looks)
        windows = readings(day)
    except ForecasterError as error:
        return blind(farm, now, str(error), error.exit_code, basis=basis)
    return Sight(farm_reading(day, now, basis), windows, notes=(*told, *said))


def blind(
    farm: Farm, now: np.datetime64, why: str, code: int, *, basis: str = ""
) -> Sight:
    """Nothing is seen, and why."""
    from forecaster.service.readings import season_of

    words = " ".join(why.split())
    nothing = FarmReading(
        now, season_of(farm, now), "", None, None, None, basis, fault=words
    )
    return Sight(nothing, None, code=code)
