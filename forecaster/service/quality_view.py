"""Quality control of a farm's weather, and a line for each rule that spoke."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.quality.checked import check
from forecaster.domain.quality.flags import RULES, Done

if TYPE_CHECKING:
    from forecaster.service.weather import FarmWeather

_RULES = {rule.flag: rule for rule in RULES}


def checked(weather: FarmWeather) -> FarmWeather:
    """The weather with every failing value set to missing, nothing filled in.

    An hour that lost a value it is judged by becomes unknown. Values that were only
    noted are not told; there are many and nothing came of them.
    """
    found = check(weather.frame, weather.place, fill=False)
    lines = tuple(
        f"{name}: {count:,} values {_RULES[flag].words}, {_RULES[flag].done}"
        for (flag, name), count in sorted(found.counts.items())
        if _RULES[flag].done is not Done.KEPT
    )
    warnings = weather.warnings
    if found.clock_suspect:
        warnings += ("the sun shines by night here: is the clock or zone right?",)
    return replace(
        weather,
        frame=found.frame,
        warnings=warnings,
        notes=weather.notes + lines,
    )
