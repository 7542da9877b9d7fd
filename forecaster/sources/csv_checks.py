"""A column that plainly holds another unit than the mapping says is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import DataError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from forecaster.domain.weather import Floats
    from forecaster.sources.csv_mapping import Column
    from forecaster.sources.reports import Reports

ENOUGH = 24
"""Values needed before a column is judged; a shorter one may be odd weather."""

# Medians beyond these are the weather of no farm in this tool's reach (assumed).
_COLDEST, _HOTTEST = -10.0, 40.0
_COLDEST_KELVIN = 200.0
_WINDIEST = 12.0

_HINT = (
    "correct the unit in the mapping file, or set units_checked = true in [table] "
    "if it is right"
)


def refuse_wrong_units(
    path: Path, reports: Reports, columns: dict[str, Column]
) -> None:
    """Stop if converted values betray a wrong unit.

    Raises
    ------
    DataError
        With the column, its median and the likely unit.
    """
    faults = []
    for name, judge in _JUDGES.items():
        values = reports.values.get(name, np.empty(0))
        values = values[~np.isnan(values)]
        likely = judge(values) if values.size >= ENOUGH else None
        if likely:
            faults.append(
                f"{path}: column {columns[name].column} read as {name} in "
                f'"{columns[name].unit}" has the median {np.median(values):.4g} '
                f"{_OURS[name]}; {likely}"
            )
    if faults:
        raise DataError("\n".join([*faults, _HINT]))


def _temperature(values: Floats) -> str | None:
    median = float(np.median(values))
    if _COLDEST <= median <= _HOTTEST:
        return None
    if median > _COLDEST_KELVIN:
        return "likely kelvin: kelvin"
    return "likely °F called °C (degF)" if median > 0 else "likely °C called °F (degC)"


def _humidity(values: Floats) -> str | None:
    if values.max() > 1.0:
        return None
    return 'all values are 1 or less: likely shares, not percent: unit = "1"'


def _wind(values: Floats) -> str | None:
    if np.median(values) <= _WINDIEST:
        return None
    return "no farm's usual wind: likely km/h (or knot, mile / hour) called m/s"


def _pressure(values: Floats) -> str | None:
    median = float(np.median(values))
    for low, high, likely in (
        (25.0, 32.0, "inHg"),
        (85.0, 107.0, "kPa"),
        (640.0, 800.0, "mmHg"),
        (85_000.0, 107_000.0, "Pa"),
    ):
        if low <= median <= high:
            return f"likely {likely}"
    return None


def _share(values: Floats) -> str | None:
    if np.median(values) <= 1.0:
        return None
    return 'not a share of 0 to 1: likely percent, tenths ("0.1") or eighths ("0.125")'


_JUDGES: dict[str, Callable[[Floats], str | None]] = {
    "air_temperature": _temperature,
    "relative_humidity": _humidity,
    "wind_speed": _wind,
    "pressure": _pressure,
    "cloud": _share,
    "low_cloud": _share,
}
_OURS = {
    "air_temperature": "°C",
    "relative_humidity": "%",
    "wind_speed": "m/s",
    "pressure": "hPa",
    "cloud": "(share)",
    "low_cloud": "(share)",
}
