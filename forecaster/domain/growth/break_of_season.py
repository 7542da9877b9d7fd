"""The break of season proposed from rain: the autumn rain that starts the weeds.

There is no standard definition of the break (Hayman & Thomas, South Australian
Research and Development Institute, 5 June 2025; published, seen in excerpt). This
module only proposes a day; the person who farms the paddock knows better.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.clock import DAY, FULL_WEIGHT_FROM, biofix
from forecaster.domain.sourced import Mark, Sourced

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats


@dataclass(frozen=True, slots=True)
class RainRule:
    """At least ``total`` of rain within ``days`` days running."""

    total: Sourced
    """[mm]"""
    days: int


@dataclass(frozen=True, slots=True)
class BreakDefinition:
    """A named definition: the first day on which any of its rules is met."""

    name: str
    rules: tuple[RainRule, ...]


@dataclass(frozen=True, slots=True)
class BreakFound:
    """The first day a definition is met."""

    day: np.datetime64
    """``datetime64[D]``, the day on which the total is reached."""
    definition: str
    rule: RainRule
    rain: float
    """[mm] known to have fallen within the rule's days, up to ``day``."""
    unknown_days: int
    """Days without a rain figure that could have made the break earlier."""


_LLS = (
    "Smith, A., 2021, The autumn break – fact or fiction?, Local Land Services, "
    "New South Wales"
)
_POOK = (
    "Pook et al. 2009, International Journal of Climatology, as quoted by Hayman & "
    "Thomas 2025, South Australian Research and Development Institute"
)
_SARDI = (
    "Hayman & Thomas, 5 June 2025, South Australian Research and Development "
    "Institute, on the break of season"
)


def _rule(total: float, days: int, source: str, page: str) -> RainRule:
    low, high = 0.8 * total, 1.2 * total
    return RainRule(
        Sourced(total, "mm", low, high, source, page, Mark.EXCERPT), days=days
    )


SMITH_2021 = BreakDefinition(
    "25 mm within 3 days or 30 mm within 7 days",
    (
        _rule(25.0, 3, _LLS, "definition of the break"),
        _rule(30.0, 7, _LLS, "definition of the break"),
    ),
)
"""Default. The source writes "in <3 days" and "in <7 days"; read here as within 3
and 7 daily totals, which for 25 mm is also Pook's reading."""

POOK_2009 = BreakDefinition(
    "25 mm within 3 days", (_rule(25.0, 3, _POOK, "definition for Victoria"),)
)
"""Used for Victoria."""

SIMULATION = BreakDefinition(
    "20 mm within 7 days", (_rule(20.0, 7, _SARDI, "definitions in use"),)
)
"""Used in some simulation work."""

DEFINITIONS: tuple[BreakDefinition, ...] = (SMITH_2021, POOK_2009, SIMULATION)
"""All named definitions, the default first."""

SEARCH_FROM = {True: (4, 1), False: (10, 1)}
"""Month and day the search starts at, by ``southern``. Assumed: earlier rain is
summer rain. The north is a plain mirror of the south, checked against nothing."""


def search_start(first_day: np.datetime64, *, southern: bool = True) -> np.datetime64:
    """The day the search for the break starts, in the season of ``first_day``."""
    midwinter = biofix(first_day, southern=southern)
    year = midwinter.astype("datetime64[Y]").astype(int) + 1970
    month, day = SEARCH_FROM[southern]
    year -= month > FULL_WEIGHT_FROM[southern][0]
    return np.datetime64(f"{year:04d}-{month:02d}-{day:02d}", "D")


def find_break(
    rain: Floats,
    first_day: np.datetime64,
    *,
    southern: bool = True,
    definition: BreakDefinition = SMITH_2021,
) -> BreakFound | None:
    """Propose the break of season from daily rain.

    Parameters
    ----------
    rain : (days,) array
        Rain of each day. [mm] NaN = unknown: it adds nothing to a total, so a break
        is only found on rain known to have fallen, and the days that could have
        made it earlier are counted in the answer.
    first_day : datetime64[D]
        Local day of the first figure. Rain of the days just before the search
        starts may count towards a total that is reached after.
    southern : bool
        Search from 1 April if true, from 1 October if false.
    definition : BreakDefinition
        Which published definition.

    Returns
    -------
    BreakFound or None
        None if no rule is met in the days given; ask :func:`unknown_rain_days`
        whether missing rain may be the reason.
    """
    start = _start(rain, first_day, southern=southern)
    found: list[tuple[int, float, RainRule]] = []
    for rule in definition.rules:
        totals = _running_total(rain, rule.days)
        met = np.flatnonzero(totals[start:] >= rule.total.value)
        if met.size:
            at = start + int(met[0])
            found.append((at, float(totals[at]), rule))
    if not found:
        return None
    at, total, rule = min(found, key=lambda each: each[0])
    return BreakFound(
        day=first_day.astype("datetime64[D]") + at * DAY,
        definition=definition.name,
        rule=rule,
        rain=total,
        unknown_days=unknown_rain_days(
            rain[: at + 1], first_day, southern=southern, definition=definition
        ),
    )


def unknown_rain_days(
    rain: Floats,
    first_day: np.datetime64,
    *,
    southern: bool = True,
    definition: BreakDefinition = SMITH_2021,
) -> int:
    """Days without a rain figure that a definition would have looked at.

    Parameters are those of :func:`find_break`. Days between the start of the search
    and the first figure are counted too.
    """
    reach = max(rule.days for rule in definition.rules) - 1
    start = search_start(first_day, southern=southern)
    before = int((start - first_day.astype("datetime64[D]")) / DAY)
    looked_at = rain[max(before - reach, 0) :]
    return int(np.isnan(looked_at).sum()) + max(-before, 0)


def find_breaks(
    rain: Floats, first_day: np.datetime64, *, southern: bool = True
) -> dict[str, BreakFound | None]:
    """The break by every named definition, to show how far they lie apart."""
    return {
        each.name: find_break(rain, first_day, southern=southern, definition=each)
        for each in DEFINITIONS
    }


def _start(rain: Floats, first_day: np.datetime64, *, southern: bool) -> int:
    start = search_start(first_day, southern=southern)
    days = int((start - first_day.astype("datetime64[D]")) / DAY)
    return min(max(days, 0), rain.size)


def _running_total(rain: Floats, days: int) -> Floats:
    known = np.where(np.isnan(rain), 0.0, rain)
    summed = np.concatenate([[0.0], np.cumsum(known)])
    begin = np.maximum(np.arange(1, summed.size) - days, 0)
    # Rounded, so that a binary fraction cannot keep a total just under its mark.
    total: Floats = np.round(summed[1:] - summed[begin], 6)
    return total
