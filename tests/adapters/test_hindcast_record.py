"""What a table says was observed is held to the rules before forecasts are judged.

The answer is the recorded one in fixtures/services; the table is made of its own
latest values, so that it is known what it should be worth.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.domain.spraying.limits import Quantity
from forecaster.render import hindcast_text
from forecaster.service.hindcast_view import farm_hindcast
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import demo_folder
from forecaster.sources import openmeteo_previous

if TYPE_CHECKING:
    from forecaster.domain.hindcast_report import Hindcast
    from forecaster.domain.weather import WeatherFrame
    from tests.adapters.conftest import ForeignTable

ANSWER = Path(__file__).parents[2] / "fixtures" / "services" / "openmeteo_previous.json"
NEAR = Place(-34.533, 138.75, 68.0, "Australia/Adelaide")
NOW = np.datetime64("2026-09-14T20:30", "s")
UNITS = {
    "air_temperature": "degC",
    "relative_humidity": "percent",
    "wind_speed": "m/s",
    "wind_from": "degree",
    "rain": "mm",
}
NOON = 50
"""02:00 UTC of the third day: half past eleven in Adelaide."""


@pytest.fixture(scope="module")
def latest() -> WeatherFrame:
    """The newest values of the answer."""
    asked = openmeteo_previous.request(NEAR, NOW, past_days=4)
    frame = openmeteo_previous.parse(ANSWER.read_bytes(), asked).frame
    assert frame is not None
    assert str(frame.time[NOON])[11:] == "02:00:00"
    return frame


def score(
    foreign: ForeignTable, latest: WeatherFrame, spoilt: dict[str, float]
) -> Hindcast:
    """The hindcast against the latest values, some of the hour NOON put otherwise."""
    lines = [",".join(["time", *UNITS])]
    for row, time in enumerate(latest.time):
        values = {name: float(getattr(latest, name)[row]) for name in UNITS}
        values |= spoilt if row == NOON else {}
        cells = ["" if np.isnan(x) else f"{x:.4f}" for x in values.values()]
        lines.append(",".join([str(time).replace("T", " ")[:16], *cells]))
    mapping = foreign(
        "\n".join(lines) + "\n",
        columns={name: {"column": name, "unit": unit} for name, unit in UNITS.items()},
    )
    farm = replace(load_farm(demo_folder()), place=NEAR)
    return farm_hindcast(farm, "glyphosate", NOW, saved=ANSWER, mapping=mapping)


def page(found: Hindcast) -> str:
    """All it says but what was passed over."""
    return hindcast_text.render(replace(found, notes=()))


def test_a_spike_in_the_observed_table_is_not_the_truth(
    foreign: ForeignTable, latest: WeatherFrame
) -> None:
    """20 K off for an hour scores as if temperature and humidity were not there.

    A rule that needs the hours beside it; the import alone cannot see it.
    """
    wrong = {"air_temperature": float(latest.air_temperature[NOON]) - 20.0}
    gone = {"air_temperature": np.nan, "relative_humidity": np.nan}
    spoilt, holed = (score(foreign, latest, each) for each in (wrong, gone))
    whole = score(foreign, latest, {})
    assert page(spoilt) == page(holed) != page(whole)
    counts = [
        int(found.leads[0].errors[Quantity.AIR_TEMPERATURE].count)
        for found in (whole, spoilt)
    ]
    assert counts[1] == counts[0] - 1
    assert whole.notes == ()
    said = hindcast_text.render(spoilt)
    assert "Passed over: air_temperature: 1 values a jump that is undone" in said


def test_a_wind_out_of_range_is_told_with_its_line(
    foreign: ForeignTable, latest: WeatherFrame
) -> None:
    """The import takes it; the page says which line of the file it stood in."""
    spoilt = score(foreign, latest, {"wind_speed": 99.0})
    holed = score(foreign, latest, {"wind_speed": np.nan})
    assert page(spoilt) == page(holed)
    (note,) = spoilt.notes
    assert f"line {NOON + 2} wind_speed = 99.0000" in note
