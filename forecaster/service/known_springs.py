"""Earlier springs for pages that need no weather."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.service.clock import utc_now
from forecaster.service.farm_sprayed import records_or_none
from forecaster.service.moments import as_utc, local_day
from forecaster.service.springs import with_springs

if TYPE_CHECKING:
    import datetime as dt

    import numpy as np

    from forecaster.domain.record.log import RecordLog
    from forecaster.settings.farm import Farm


@dataclass(frozen=True, slots=True)
class Known:
    """The farm with every paddock's springs, the records, and what to say of them."""

    farm: Farm
    log: RecordLog
    now: np.datetime64
    """UTC ``datetime64[s]``: the farm's own moment, else the clock's."""
    today: dt.date
    """On the farm's calendar."""
    gainsaid: tuple[str, ...]
    """Where one place that tells of springs gainsays another."""


def known_springs(farm: Farm) -> Known:
    """Springs typed and recorded; a log that cannot be read costs these alone."""
    moment = farm.weather.moment
    now = utc_now() if moment is None else as_utc(moment)
    today = local_day(now, farm.place.zone)
    log = records_or_none(farm)
    then, told = with_springs(farm, log, now, today.year)
    return Known(then, log, now, today, told)
