"""What an hourly value can physically be; outside it a sensor or a unit is wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats


@dataclass(frozen=True, slots=True)
class Range:
    """``low`` ≤ value ≤ ``high``, and why those bounds."""

    low: float
    high: float
    unit: str
    reason: str

    def outside(self, values: Floats) -> Bools:
        """Where a value is there and is not inside."""
        outside: Bools = (values < self.low) | (values > self.high)
        return outside

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()


_TEMPERATURE = Range(
    -15.0,
    52.0,
    "°C",
    "assumed: farmland of southern Australia; Australia's record is 50.7 °C "
    "(from memory)",
)
_SHARE = Range(0.0, 1.0, "", "a share")
_CHANCE = Range(0.0, 100.0, "%", "a chance")

RANGES: dict[str, Range] = {
    "air_temperature": _TEMPERATURE,
    "air_temperature_80m": _TEMPERATURE,
    "dew_point": Range(-60.0, 40.0, "°C", "assumed: wider than any farm has seen"),
    "relative_humidity": Range(
        1.0, 102.0, "%", "assumed: 0 is a broken sensor, 100–102 is sensor error"
    ),
    "pressure": Range(
        850.0, 1060.0, "hPa", "assumed: at the site, up to about 1,400 m"
    ),
    "wind_speed": Range(
        0.0, 45.0, "m/s", "assumed: a mean wind of 162 km/h is a sensor fault"
    ),
    "wind_from": Range(0.0, 360.0, "°", "a full circle"),
    "wind_gust": Range(0.0, 80.0, "m/s", "assumed: 288 km/h"),
    "rain": Range(0.0, 120.0, "mm", "assumed: in one hour"),
    "rain_chance": _CHANCE,
    "cloud": _SHARE,
    "low_cloud": _SHARE,
    "radiation": Range(
        0.0, 1400.0, "W/m²", "the sun above the air gives about 1,361 (from memory)"
    ),
}
"""Wide bounds of each quantity of the weather table, and of the dew point."""

SENSOR_ZERO = -20.0
"""[W/m²] A radiation sensor may read this low on a clear night (assumed)."""
