"""The file of measured errors: read as it says, refused where it cannot be."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.hindcast_report import Hindcast, LeadScore
from forecaster.domain.place import Place
from forecaster.domain.spraying.limits import Quantity
from forecaster.domain.verification.calls import Calls
from forecaster.domain.verification.errors import ErrorSummary
from forecaster.errors import InputMissingError, SettingsError
from forecaster.settings.error_file import LEAST_HOURS, errors_text, read_errors

if TYPE_CHECKING:
    from pathlib import Path

FARM = Place(-37.595, 142.305, 420.0, "Australia/Melbourne")
FILE = """
first = 2026-03-01T00:00:00Z
end = 2026-08-30T00:00:00Z
latitude = -37.6
longitude = 142.3
observed = "our own station"
forecast = ["a model", "another"]

[wind_10m]
unit = "km/h"
lead_days = [0, 1, 3]
root_mean_square = [4.5, 5.4, 7.2]
hours = [900, 880, 800]

[air_temperature]
unit = "°C"
lead_days = [1]
root_mean_square = [1.8]
hours = [880]
"""


def written(folder: Path, text: str) -> Path:
    """A file of this text."""
    path = folder / "errors.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_errors_are_read_in_the_units_inside(tmp_path: Path) -> None:
    """5.4 km/h are 1.5 m/s; what is not in the file was not measured."""
    found = read_errors(written(tmp_path, FILE), FARM)
    assert set(found) == {Quantity.WIND_10M, Quantity.AIR_TEMPERATURE}
    wind = found[Quantity.WIND_10M]
    assert wind.lead_days == (0.0, 1.0, 3.0)
    assert wind.size == pytest.approx((1.25, 1.5, 2.0))
    assert wind.hours == (900, 880, 800)
    expected = "a model; another against our own station, 2026-03-01 to 2026-08-30"
    assert wind.source == expected
    assert found[Quantity.AIR_TEMPERATURE].size == (1.8,)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("latitude = -37.6", "latitude = -34.6", "3:1: latitude = -34.6, but the farm"),
        ("longitude = 142.3", "longitude = 138", "4:1: longitude = 138, but"),
        ('unit = "km/h"', 'unit = "m/s"', "9:1: unit 'm/s': allowed is 'km/h'"),
        ("[0, 1, 3]", "[0, 3, 1]", "later than the one before"),
        ("[0, 1, 3]", "[0, 1, 1]", "later than the one before"),
        ("[0, 1, 3]", "[]", "lead_days"),
        ("[0, 1, 3]", "[0, 1]", "equally many"),
        ("7.2", "-7.2", "above 0"),
        ("7.2", "0", "above 0"),
        ("7.2", "nan", "root_mean_square"),
        ("800]", f"{LEAST_HOURS - 1}]", "hours"),
        ("[air_temperature]", "[delta_t]", "delta_t"),
        ("first = 2026-03-01T00:00:00Z", "first = 2026-03-01", "first"),
    ],
)
def test_what_cannot_be_is_told_at_its_place(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    """Another place or unit, ages out of order, columns unlike, too few hours."""
    assert old in FILE
    path = written(tmp_path, FILE.replace(old, new).lstrip())  # line 1 is first = …
    with pytest.raises(SettingsError) as caught:
        read_errors(path, FARM)
    text = str(caught.value)
    assert "errors.toml:" in text
    assert said in text


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """As every file a farm names."""
    with pytest.raises(InputMissingError, match=r"errors\.toml"):
        read_errors(tmp_path / "errors.toml", FARM)


def a_score(lead: int, rmse: float, count: int) -> LeadScore:
    """One age at which every quantity erred by so much."""
    errors = ErrorSummary(*(np.array(each) for each in (count, 0.0, rmse, rmse)))
    return LeadScore(
        lead,
        count,
        dict.fromkeys(Quantity, errors),
        Calls(0, 0, 0, 0),
        None,
        None,
    )


def a_hindcast(*scores: LeadScore) -> Hindcast:
    """What a hindcast found."""
    return Hindcast(
        place=FARM,
        observed='our "own" station',
        forecast=("a model",),
        first=np.datetime64("2026-03-01T00:00", "s"),
        end=np.datetime64("2026-08-30T00:00", "s"),
        limits=(),
        daylight=True,
        leads=scores,
    )


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    """Ages with enough hours, and only those; tomllib reads it too."""
    found = a_hindcast(
        a_score(0, 1.5, 900), a_score(1, 2.0, LEAST_HOURS), a_score(2, 9.0, 199)
    )
    text = errors_text(found)
    assert text is not None
    assert tomllib.loads(text)["wind_10m"]["root_mean_square"] == [5.4, 7.2]
    again = read_errors(written(tmp_path, text), FARM)
    wind = again[Quantity.WIND_10M]
    assert (wind.lead_days, wind.hours) == ((0.0, 1.0), (900, 200))
    assert wind.size == pytest.approx((1.5, 2.0))
    assert 'our "own" station' in wind.source
    assert set(again) == {
        Quantity.WIND_10M,
        Quantity.AIR_TEMPERATURE,
        Quantity.RELATIVE_HUMIDITY,
    }


def test_too_few_hours_write_nothing() -> None:
    """Nor does an error of nothing at all, which no forecast has."""
    assert errors_text(a_hindcast(a_score(1, 2.0, 199))) is None
    assert errors_text(a_hindcast(a_score(1, 0.0, 999))) is None
    assert errors_text(replace(a_hindcast(), leads=())) is None
