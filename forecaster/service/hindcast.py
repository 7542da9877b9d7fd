"""Past forecasts against what was observed, judged as the outlook judges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.hindcast_report import Hindcast, LeadScore
from forecaster.domain.spraying.chance import of_label
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.limits import Quantity, Verdict
from forecaster.domain.spraying.quantities import Exposure, measure, values
from forecaster.domain.verification.calls import count_calls
from forecaster.domain.verification.chances import brier_score, reliability_table
from forecaster.domain.verification.errors import error_summary
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import TypeAlias

    import numpy.typing as npt

    from forecaster.domain.place import Place
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.spraying.limits import Limit
    from forecaster.domain.spraying.quantities import Air
    from forecaster.domain.weather import Bools, Floats, WeatherFrame

    Chance: TypeAlias = Callable[[Judgement, Floats], Floats]
    Rows: TypeAlias = npt.NDArray[np.intp]

SCORED = (
    Quantity.WIND_10M,
    Quantity.DELTA_T,
    Quantity.AIR_TEMPERATURE,
    Quantity.RELATIVE_HUMIDITY,
)
"""Quantities whose errors are told."""


@dataclass(frozen=True, slots=True)
class _Side:
    """One table, measured and judged."""

    air: Air
    judgement: Judgement

    def known(self, rows: Rows) -> Bools:
        """Hours whose verdict is known."""
        known: Bools = self.judgement.verdict[rows] != Verdict.UNKNOWN
        return known

    def fit(self, rows: Rows) -> Bools:
        """Hours within every limit."""
        fit: Bools = self.judgement.verdict[rows] == Verdict.GOOD
        return fit


def hindcast(
    observed: WeatherFrame,
    leads: Mapping[int, WeatherFrame],
    place: Place,
    limits: Sequence[Limit],
    *,
    exposure: Exposure | None = None,
    chance: Chance | None = None,
    daylight: bool = True,
) -> Hindcast:
    """Judge what was observed and each forecast by the same label, and compare.

    ``leads`` holds, for each age in days, the forecast made that long before each of
    its hours. Of ``limits`` the confirmed label limits count, advice does not.
    ``exposure`` says what lies around the paddock; without it nothing does.
    ``chance`` takes a judgement and the lead of its hours [d] and gives shares, like
    :func:`.chance.chance_by_error`.

    Raises
    ------
    ValueError
        If no limit is a confirmed label limit, or a table holds members.
    """
    label = of_label(limits)
    if not label:
        raise ValueError("a hindcast needs a confirmed label limit to judge by")
    if any(each.air_temperature.ndim > 1 for each in (observed, *leads.values())):
        raise ValueError("a hindcast compares single forecasts, not members")
    around = exposure or Exposure(np.zeros(360, dtype=np.bool_))
    truth = _side(observed, place, label, around)
    scores = tuple(
        _score(
            lead,
            truth,
            _side(leads[lead], place, label, around),
            chance=chance,
            daylight=daylight,
        )
        for lead in sorted(leads)
    )
    return Hindcast(
        place=place,
        observed=observed.provenance.source,
        forecast=tuple(dict.fromkeys(x.provenance.source for x in leads.values())),
        first=observed.time[0],
        end=observed.time[-1] + HOUR,
        limits=tuple(limit.words for limit in label),
        daylight=daylight,
        leads=scores,
    )


def _side(
    frame: WeatherFrame, place: Place, limits: Sequence[Limit], exposure: Exposure
) -> _Side:
    air = measure(frame, place, frame.provenance.issued)
    return _Side(air, judge(frame.time, values(air, limits, exposure), limits))


def _score(
    lead: int,
    truth: _Side,
    forecast: _Side,
    *,
    chance: Chance | None,
    daylight: bool,
) -> LeadScore:
    there, here = _shared_rows(truth, forecast, daylight=daylight)
    known = truth.known(there) & forecast.known(here)
    brier = table = None
    if chance is not None:
        days = np.full(forecast.judgement.time.shape, float(lead))
        said = chance(forecast.judgement, days)[here]
        came = np.where(truth.known(there), truth.fit(there) * 1.0, np.nan)
        brier, table = brier_score(said, came), reliability_table(said, came)
    return LeadScore(
        lead=lead,
        hours=int(there.size),
        errors={
            quantity: error_summary(
                forecast.air.measured[quantity][here],
                truth.air.measured[quantity][there],
            )
            for quantity in SCORED
        },
        calls=count_calls(forecast.fit(here), truth.fit(there), known),
        brier=brier,
        reliability=table,
    )


def _shared_rows(truth: _Side, forecast: _Side, *, daylight: bool) -> tuple[Rows, Rows]:
    """Rows of the hours both tables hold, of the observed and of the forecast one."""
    _, there, here = np.intersect1d(
        truth.judgement.time,
        forecast.judgement.time,
        assume_unique=True,
        return_indices=True,
    )
    if daylight:
        lit = truth.air.measured[Quantity.SUN_ELEVATION][there] >= 0.0
        there, here = there[lit], here[lit]
    return there, here
