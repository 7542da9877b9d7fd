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
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import TypeAlias

    import numpy.typing as npt

    from forecaster.domain.place import Place
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.spraying.limits import Limit
    from forecaster.domain.spraying.quantities import Air
    from forecaster.domain.weather import Codes, Floats, Times, WeatherFrame

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
class Side:
    """What was observed, or what was forecast, measured and judged by the label."""

    time: Times
    measured: Mapping[Quantity, Floats]
    """Each of :data:`SCORED` (hours,); of what was observed, the sun's height too."""
    verdict: Codes
    chance: Floats | None = None
    """[share] told for each hour, NaN where none was."""


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
    if any(each.air_temperature.ndim > 1 for each in (observed, *leads.values())):
        raise ValueError("a hindcast compares single forecasts, not members")
    bench = Bench.of(place, limits, exposure, chance)
    told = {
        lead: bench.side(frame, np.full(frame.time.shape, float(lead)))
        for lead, frame in leads.items()
    }
    sources = tuple(x.provenance.source for x in leads.values())
    return compared(observed, told, bench, sources, daylight=daylight)


@dataclass(frozen=True, slots=True)
class Bench:
    """Where every table is judged alike."""

    place: Place
    label: tuple[Limit, ...]
    around: Exposure
    chance: Chance | None

    @classmethod
    def of(
        cls,
        place: Place,
        limits: Sequence[Limit],
        exposure: Exposure | None,
        chance: Chance | None,
    ) -> Bench:
        """Of the confirmed label limits among ``limits``.

        Raises
        ------
        ValueError
            If there is none.
        """
        label = of_label(limits)
        if not label:
            raise ValueError("a hindcast needs a confirmed label limit to judge by")
        nothing = Exposure(np.zeros(360, dtype=np.bool_))
        return cls(place, label, exposure or nothing, chance)

    def side(self, frame: WeatherFrame, lead_days: Floats | None = None) -> Side:
        """One table judged; with the age of its hours [d], chances too."""
        air, judged = self.judged(frame)
        told = None
        if self.chance is not None and lead_days is not None:
            told = self.chance(judged, lead_days)
        kept = (*SCORED, Quantity.SUN_ELEVATION)
        measured = {quantity: air.measured[quantity] for quantity in kept}
        return Side(frame.time, measured, judged.verdict, told)

    def judged(self, frame: WeatherFrame) -> tuple[Air, Judgement]:
        """The air of a table, of one forecast or of members, and its judgement."""
        air = measure(frame, self.place, frame.provenance.issued)
        measured = values(air, self.label, self.around)
        return air, judge(frame.time, measured, self.label)


def compared(
    observed: WeatherFrame,
    leads: Mapping[int, Side],
    bench: Bench,
    sources: Iterable[str],
    *,
    daylight: bool,
) -> Hindcast:
    """Each lead against what was observed."""
    truth = bench.side(observed)
    return Hindcast(
        place=bench.place,
        observed=observed.provenance.source,
        forecast=tuple(dict.fromkeys(sources)),
        first=observed.time[0],
        end=observed.time[-1] + HOUR,
        limits=tuple(limit.words for limit in bench.label),
        daylight=daylight,
        leads=tuple(
            _score(lead, truth, leads[lead], daylight=daylight)
            for lead in sorted(leads)
        ),
    )


def _score(lead: int, truth: Side, forecast: Side, *, daylight: bool) -> LeadScore:
    there, here = _shared_rows(truth, forecast, daylight=daylight)
    seen, told = truth.verdict[there], forecast.verdict[here]
    fit, called = seen == Verdict.GOOD, told == Verdict.GOOD
    known = seen != Verdict.UNKNOWN
    brier = table = None
    if forecast.chance is not None:
        said = forecast.chance[here]
        came = np.where(known, fit * 1.0, np.nan)
        brier, table = brier_score(said, came), reliability_table(said, came)
    return LeadScore(
        lead=lead,
        hours=int(there.size),
        errors={
            quantity: error_summary(
                forecast.measured[quantity][here], truth.measured[quantity][there]
            )
            for quantity in SCORED
        },
        calls=count_calls(called, fit, known & (told != Verdict.UNKNOWN)),
        brier=brier,
        reliability=table,
    )


def _shared_rows(truth: Side, forecast: Side, *, daylight: bool) -> tuple[Rows, Rows]:
    """Rows of the hours both tables hold, of the observed and of the forecast one."""
    _, there, here = np.intersect1d(
        truth.time, forecast.time, assume_unique=True, return_indices=True
    )
    if daylight:
        lit = truth.measured[Quantity.SUN_ELEVATION][there] >= 0.0
        there, here = there[lit], here[lit]
    return there, here
