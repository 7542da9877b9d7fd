"""The numbers of the rules, each with its unit, origin and mark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from forecaster.domain.sourced import Mark, Sourced

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats

OWN = "own choice"
PAGE = "docs/method/quality.md"
MESONET: Final = (
    "University of Washington, Observations QC Documentation, step check, 'suspect' "
    "level; modelled there on Shafer et al. (2000), J. Atmos. Oceanic Technol. 17, 474"
)


def _assumed(value: float, unit: str, low: float, high: float) -> Sourced:
    return Sourced(value, unit, low, high, OWN, PAGE, Mark.ASSUMED)


def _step(value: float, unit: str) -> Sourced:
    return Sourced(value, unit, value, 1.5 * value, MESONET, "step check", Mark.EXCERPT)


@dataclass(frozen=True, slots=True)
class Range:
    """Fit where ``low`` ≤ value ≤ ``high``, both in ``unit``."""

    low: float
    high: float
    unit: str
    source: str
    mark: Mark

    def outside(self, values: Floats) -> Bools:
        """Where a value is there and is not inside."""
        outside: Bools = (values < self.low) | (values > self.high)
        return outside

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()


_AIR = Range(
    -25.0,
    55.0,
    "°C",
    "a little wider than Australia's records, −23.0 and 50.7 °C",
    Mark.MEMORY,
)
_SHARE = Range(0.0, 1.0, "", "a share", Mark.DERIVED)

RANGES: Final[dict[str, Range]] = {
    "air_temperature": _AIR,
    "air_temperature_80m": _AIR,
    "dew_point": Range(-60.0, 40.0, "°C", OWN, Mark.ASSUMED),
    "relative_humidity": Range(1.0, 102.0, "%", OWN, Mark.ASSUMED),
    "pressure": Range(850.0, 1060.0, "hPa", OWN, Mark.ASSUMED),
    "wind_speed": Range(0.0, 45.0, "m/s", OWN, Mark.ASSUMED),
    "wind_from": Range(0.0, 360.0, "°", "a full circle", Mark.DERIVED),
    "wind_gust": Range(0.0, 80.0, "m/s", OWN, Mark.ASSUMED),
    "rain": Range(0.0, 120.0, "mm", OWN, Mark.ASSUMED),
    "rain_chance": Range(0.0, 100.0, "%", "a chance", Mark.DERIVED),
    "cloud": _SHARE,
    "low_cloud": _SHARE,
    "radiation": Range(-20.0, 1400.0, "W/m²", OWN, Mark.ASSUMED),
}
"""Wide bounds of what a farm in southern Australia can see."""

CLIPS: Final = {"relative_humidity": (1.0, 100.0), "radiation": (0.0, 1400.0)}
"""Bounds that a value inside its range is cut to; physical, derived."""

STEPS: Final = {
    "air_temperature": _step(10.0, "K"),
    "relative_humidity": _step(60.0, "%"),
    "pressure": _step(10.0, "hPa"),
}
"""Largest change from one hour to the next."""

DEW_POINT_SLACK: Final = _assumed(0.3, "K", 0.1, 1.0)
"""Two sensors in saturated air may differ by this much."""
HUMIDITY_APART: Final = _assumed(3.0, "%", 2.0, 5.0)
"""Over this, humidity is worked out anew from the dew point."""
HUMIDITY_FAR_APART: Final = _assumed(15.0, "%", 10.0, 20.0)
"""Over this, humidity is not known."""

SAME_PROBE: Final = _assumed(12.0, "h", 9.0, 24.0)
"""Temperature and humidity both unmoved."""
SATURATED: Final = _assumed(99.0, "%", 97.0, 100.0)
"""From here up humidity may stay put as long as it likes: fog."""
SAME_FAILS: Final = {
    "air_temperature": _assumed(24.0, "h", 18.0, 48.0),
    "relative_humidity": _assumed(24.0, "h", 18.0, 48.0),
    "pressure": _assumed(24.0, "h", 18.0, 48.0),
    "wind_speed": _assumed(24.0, "h", 24.0, 48.0),
}
"""As long as this without change fails; wind only where it is 0."""
SAME_NOTED: Final = {
    "air_temperature": _assumed(8.0, "h", 6.0, 16.0),
    "pressure": _assumed(12.0, "h", 6.0, 18.0),
}
"""As long as this without change is marked and kept."""
STANDARD_SLACK: Final = _assumed(0.1, "hPa", 0.01, 0.5)
"""Pressure this near the standard atmosphere was put there, not measured."""

GUST_SLACK: Final = _assumed(0.05, "m/s", 0.0, 0.5)
"""Half of the last digit that is usually printed."""
CALM: Final = Sourced(
    0.3, "m/s", 0.0, 0.5, "Beaufort scale, force 0", "lower edge of 1", Mark.MEMORY
)
"""Below it the wind is calm."""
DRY_AIR: Final = _assumed(30.0, "%", 20.0, 40.0)
"""Rain with less humidity than this is odd."""
CLEAR_SKY: Final = _assumed(0.1, "share", 0.0, 0.3)
"""Up to this much cloud."""
NIGHT_RADIATION: Final = _assumed(20.0, "W/m²", 5.0, 50.0)
"""More than this in full night is not the sun."""
NIGHT: Final = Sourced(
    -6.0,
    "°",
    -12.0,
    -3.0,
    "end of civil twilight, by definition",
    "all the hour",
    Mark.MEMORY,
)
"""Sun's elevation below which the night is full."""
CLOCK_SHARE: Final = _assumed(0.05, "share", 0.01, 0.2)
"""More sunny hours among those of the night than this make the clock suspect."""
CLOCK_LEAST: Final = _assumed(3.0, "h", 1.0, 10.0)
"""Fewer sunny night hours than this never do."""
CLOCK_HOURS: Final = _assumed(240.0, "h", 48.0, 1000.0)
"""Hours of radiation needed to tell how far a clock is off."""

LONGEST_FILL: Final = Sourced(3.0, "h", 1.0, 6.0, "common practice", "", Mark.PRACTICE)
"""Longest gap that is drawn straight."""
FILLABLE: Final = ("air_temperature", "dew_point", "pressure")
"""Never rain, wind, gust or humidity."""
