"""Quality control of a farm's weather, and a line for each rule that spoke."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.quality.checked import check
from forecaster.domain.quality.flags import Done, done, rule_of

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.quality.checked import Checked
    from forecaster.domain.weather import WeatherFrame
    from forecaster.service.weather import FarmWeather

CLOCK = "the sun shines by night here: is the clock or zone right?"


def checked(weather: FarmWeather) -> FarmWeather:
    """The weather with every failing value set to missing, and lines on what was done.

    An hour that lost a value it is judged by becomes unknown: short gaps are filled
    for growth, and verdicts leave a filled temperature out. Values that were only
    noted are not told; there are many and nothing came of them.
    """
    found = check(weather.frame, weather.place)
    warnings = (CLOCK,) if found.clock_suspect else ()
    return replace(
        weather,
        frame=found.frame,
        warnings=weather.warnings + warnings,
        notes=weather.notes + lines(found),
    )


def checked_record(mapping: Path) -> tuple[WeatherFrame, tuple[str, ...]]:
    """What a table says was observed, and lines on what failed; nothing is filled in.

    Raises
    ------
    DataError, InputMissingError, SettingsError
        If the table or its mapping cannot be used.
    """
    from forecaster.sources.csv_file import read_csv

    imported = read_csv(mapping)
    found = check(imported.frame, imported.place, fill=False)
    return found.frame, (*map(str, imported.report.findings), *lines(found))


def lines(found: Checked) -> tuple[str, ...]:
    """What became of how many values, by rule and quantity."""
    return tuple(
        f"{name}: {count:,} values {rule_of(flag).words}, {done(flag, name)}"
        for (flag, name), count in sorted(found.counts.items())
        if done(flag, name) is not Done.KEPT
    )
