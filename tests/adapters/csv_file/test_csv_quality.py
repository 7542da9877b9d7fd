"""Units, unit sniffing, ranges and derived values of foreign tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.quality.flags import Flag, rule_of
from forecaster.errors import DataError, SettingsError
from forecaster.sources.csv_file import read_csv

if TYPE_CHECKING:
    from forecaster.sources.import_report import ImportedWeather

Foreign = Callable[..., Path]
NAN = np.nan


def table(**columns: Sequence[object]) -> str:
    """A table of hours from 2026-01-01 05:00 on; None is an empty cell."""
    size = len(next(iter(columns.values())))
    lines = [",".join(["time", *columns])]
    for row in range(size):
        time = f"2026-01-{1 + (5 + row) // 24:02d} {(5 + row) % 24:02d}:00"
        cells = [
            "" if each[row] is None else str(each[row]) for each in columns.values()
        ]
        lines.append(",".join([time, *cells]))
    return "\n".join(lines) + "\n"


def named(**units: str) -> dict[str, dict[str, str]]:
    """Columns named like their quantities, in these units."""
    return {name: {"column": name, "unit": unit} for name, unit in units.items()}


def one(
    foreign: Foreign,
    quantity: str,
    unit: str,
    value: object,
    **parts: dict[str, object],
) -> float:
    """One value of one column through the import."""
    path = foreign(
        table(**{quantity: [value]}), columns=named(**{quantity: unit}), **parts
    )
    return float(getattr(read_csv(path).frame, quantity)[0])


@pytest.mark.parametrize(
    ("quantity", "unit", "value", "expected"),
    [
        # NIST SP 811 (2008) appendix B.8 and B.9 (from memory).
        ("air_temperature", "degF", 68, 20.0),
        ("air_temperature", "kelvin", 300, 26.85),
        ("wind_speed", "km/h", 36, 10.0),
        ("wind_speed", "knot", 10, 5.144444),
        ("wind_speed", "mile / hour", 10, 4.4704),
        ("rain", "inch", 1, 25.4),
        ("rain", "0.2 mm", 7, 1.4),
        ("rain", "cm", 1.2, 12.0),
        ("radiation", "MJ/m^2/hour", 3.6, 1000.0),
        ("cloud", "0.125", 4, 0.5),
        ("cloud", "percent", 40, 0.4),
        ("low_cloud", "0.1", 3, 0.3),
        ("relative_humidity", "1", 0.55, 55.0),
        ("rain_chance", "percent", 30, 30.0),
        ("wind_from", "degree", 270, 270.0),
        ("wind_from", "compass", "wsw", 247.5),
        ("wind_from", "compass", "N", 0.0),
    ],
)
def test_units(
    foreign: Foreign, quantity: str, unit: str, value: object, expected: float
) -> None:
    """A value in each unit is the handbook's number in ours."""
    assert one(foreign, quantity, unit, value) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("unit", "value", "expected"),
    [("kPa", 100.2, 1002.0), ("inHg", 29.92, 1013.21), ("mmHg", 750, 999.92)],
)
def test_pressure_units(
    foreign: Foreign, unit: str, value: float, expected: float
) -> None:
    """Station pressure in hPa; factors of NIST SP 811 appendix B.8 (from memory)."""
    columns = {"pressure": {"column": "pressure", "unit": unit, "at": "station"}}
    frame = read_csv(foreign(table(pressure=[value]), columns=columns)).frame
    assert frame.pressure[0] == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("quantity", "unit", "said"),
    [
        ("air_temperature", "F", "degF"),
        ("air_temperature", "Celsius", "degC"),
        ("air_temperature", "degree", "degree is an angle"),
        ("wind_speed", "mm", "does not measure wind_speed"),
        ("wind_from", "percent", "does not measure wind_from"),
        ("relative_humidity", "degree", "does not measure relative_humidity"),
        ("rain", "bananas", "not a unit"),
        ("rain", "mm ** 99999999", "not a unit"),
        ("rain", "m ** 9 ** 9 ** 9", "not a unit"),
        ("rain", "__import__('os')", "not a unit"),
        ("wind_speed", "compass", "not a unit"),
    ],
)
def test_unknown_and_unfit_units(
    foreign: Foreign, quantity: str, unit: str, said: str
) -> None:
    """A unit of something else is a settings fault at its line, exit code 78."""
    with pytest.raises(SettingsError) as caught:
        one(foreign, quantity, unit, 1)
    assert said in str(caught.value)
    assert caught.value.exit_code == 78
    assert caught.value.faults[0].line > 10


@pytest.mark.parametrize(
    ("quantity", "unit", "value", "said"),
    [
        ("relative_humidity", "percent", 0.6, "shares, not percent"),
        ("wind_speed", "m/s", 16, "km/h"),
        ("air_temperature", "degC", 62, "°F called °C"),
        ("air_temperature", "degC", 291, "kelvin"),
        ("air_temperature", "degF", 9, "°C called °F"),
        ("cloud", "", 60, "percent"),
    ],
)
def test_plainly_wrong_units_are_refused(
    foreign: Foreign, quantity: str, unit: str, value: float, said: str
) -> None:
    """A day of values that no farm sees is a wrong unit; the likely one is named."""
    path = foreign(table(**{quantity: [value] * 24}), columns=named(**{quantity: unit}))
    with pytest.raises(DataError) as caught:
        read_csv(path)
    assert said in str(caught.value)
    assert f"column {quantity}" in str(caught.value)


@pytest.mark.parametrize(
    ("value", "said"),
    [(29.9, "inHg"), (101.3, "kPa"), (101325, "likely Pa"), (760, "mmHg")],
)
def test_plainly_wrong_pressure_units(
    foreign: Foreign, value: float, said: str
) -> None:
    """One standard atmosphere in four units, each mapped as hPa."""
    columns = {"pressure": {"column": "pressure", "unit": "hPa", "at": "station"}}
    path = foreign(table(pressure=[value] * 24), columns=columns)
    with pytest.raises(DataError, match=said):
        read_csv(path)


def test_units_checked_lets_a_gale_in(foreign: Foreign) -> None:
    """A real windy day passes once the user has said that the units are right."""
    path = foreign(
        table(wind_speed=[16] * 24),
        columns=named(wind_speed="m/s"),
        table={"units_checked": True},
    )
    assert read_csv(path).frame.wind_speed.tolist() == [16.0] * 24


def import_of(foreign: Foreign, text: str, **units: str) -> ImportedWeather:
    """A table with columns named like quantities."""
    return read_csv(foreign(text, columns=named(**units)))


@pytest.mark.parametrize(
    ("quantity", "unit", "bad", "good"),
    [
        ("air_temperature", "degC", [-25.1, 55.1], [-25, 55]),
        ("relative_humidity", "percent", [0, 0.9, 102.1], [1, 100]),
        ("wind_speed", "m/s", [-0.1, 45.1], [0, 45]),
        ("wind_gust", "m/s", [-1, 80.1], [0, 80]),
        ("rain", "mm", [-0.2, 120.1], [0, 120]),
        ("rain_chance", "percent", [-1, 101], [0, 100]),
        ("radiation", "W/m^2", [-21, 1401], [0, 1400]),
        ("wind_from", "degree", [-1, 361], [0, 360]),
        ("cloud", "", [-0.1, 1.1], [0, 1]),
    ],
)
def test_impossible_values_become_missing(
    foreign: Foreign, quantity: str, unit: str, bad: list[float], good: list[float]
) -> None:
    """Values beyond the stated bounds go, those on the bounds stay; all counted."""
    imported = import_of(
        foreign, table(**{quantity: [*bad, *good]}), **{quantity: unit}
    )
    values = getattr(imported.frame, quantity)
    np.testing.assert_array_equal(values, [NAN] * len(bad) + good)
    (found,) = [f for f in imported.report.findings if f.quantity == quantity]
    assert found.count == len(bad)
    assert found.reason.startswith("out of range")
    assert [float(each.value) for each in found.examples] == bad[:3]
    assert [each.row for each in found.examples] == [2, 3, 4][: len(bad)]


def test_humidity_up_to_102_is_full(foreign: Foreign) -> None:
    """101 and 102 % are saturated air read by a real sensor."""
    text = table(relative_humidity=[100, 101, 102])
    imported = import_of(foreign, text, relative_humidity="percent")
    assert imported.frame.relative_humidity.tolist() == [100.0] * 3
    assert imported.report.count(rule_of(Flag.CLIPPED).words, "relative_humidity") == 2


def test_radiation_at_night_is_zero(foreign: Foreign) -> None:
    """A sensor that reads −3 W/m² at night means 0."""
    imported = import_of(foreign, table(radiation=[-3, 0, 5]), radiation="W/m^2")
    assert imported.frame.radiation.tolist() == [0.0, 0.0, 5.0]
    assert imported.report.count(rule_of(Flag.CLIPPED).words, "radiation") == 1


def test_gust_below_the_mean_goes(foreign: Foreign) -> None:
    """A gust cannot be weaker than the mean; equal is possible."""
    text = table(wind_speed=[5, 5, None], wind_gust=[4, 5, 4])
    imported = import_of(foreign, text, wind_speed="m/s", wind_gust="m/s")
    np.testing.assert_array_equal(imported.frame.wind_gust, [NAN, 5, 4])
    assert imported.report.count(rule_of(Flag.GUST_BELOW_MEAN).words, "wind_gust") == 1


def test_a_calm_has_no_side(foreign: Foreign) -> None:
    """Direction at speed 0 is missing; CALM and empty letters too."""
    text = table(wind_speed=[0, 3, 3, 3], wind_from=["N", "CALM", None, "S"])
    imported = import_of(foreign, text, wind_speed="m/s", wind_from="compass")
    np.testing.assert_array_equal(imported.frame.wind_from, [NAN, NAN, NAN, 180])


def test_humidity_from_the_dew_point(foreign: Foreign, psychrolib: Any) -> None:
    """Where humidity is missing, T and dew point give it, as PsychroLib does.

    PsychroLib 2.5: ASHRAE Handbook of Fundamentals (2017), chapter 1.
    """
    air, dew = [20.0, 30.0, 12.0, 25.0], [10.0, 5.0, 12.0, 15.0]
    theirs = [
        100 * psychrolib.GetRelHumFromTDewPoint(t, d)
        for t, d in zip(air, dew, strict=True)
    ]
    text = table(air_temperature=air, dew_point=dew)
    units = {"air_temperature": "degC", "dew_point": "degC"}
    alone = import_of(foreign, text, **units)
    np.testing.assert_allclose(alone.frame.relative_humidity, theirs, atol=0.3)
    text = table(
        air_temperature=air, dew_point=dew, relative_humidity=[None, 80, 100, None]
    )
    both = import_of(foreign, text, **units, relative_humidity="percent")
    np.testing.assert_allclose(
        both.frame.relative_humidity, [theirs[0], NAN, 100, theirs[3]], atol=0.3
    )
    # 30 °C and 5 °C are about 20 %: nobody can say which of them 80 % proves wrong.
    assert both.report.count(rule_of(Flag.DISAGREES).words, "relative_humidity") == 1
    marks = both.frame.marks_of("relative_humidity")
    worked_out, apart = int(Flag.WORKED_OUT), int(Flag.DISAGREES)
    assert marks.bits.tolist() == [worked_out, apart, 0, worked_out]
    np.testing.assert_array_equal(marks.given, [NAN, 80, NAN, NAN])
    filled = "missing, worked out from the dew point"
    assert both.report.count(filled, "relative_humidity") == 2


def test_dew_point_above_the_air_gives_no_humidity(foreign: Foreign) -> None:
    """0.3 K above is two sensors in fog; more is a fault."""
    text = table(air_temperature=[10, 10], dew_point=[10.2, 11])
    imported = import_of(foreign, text, air_temperature="degC", dew_point="degC")
    np.testing.assert_array_equal(imported.frame.relative_humidity, [100, NAN])
    assert (
        imported.report.count(rule_of(Flag.DEW_POINT_ABOVE_AIR).words, "dew_point") == 1
    )


def test_pressure_is_not_made_up_by_the_import(foreign: Foreign) -> None:
    """Hours without a barometer stay without; quality control must not see the fill."""
    columns = {
        "air_temperature": {"column": "air_temperature", "unit": "degC"},
        "pressure": {"column": "pressure", "unit": "hPa", "at": "station"},
    }
    text = table(air_temperature=[20, 21, None], pressure=[990, None, None])
    frame = read_csv(foreign(text, columns=columns)).frame
    np.testing.assert_array_equal(frame.pressure, [990, NAN, NAN])
    assert frame.origin.tolist() == [1, 1, 0]


def test_wind_from_its_components(foreign: Foreign) -> None:
    """A 3-4-5 triangle, and the side by the meteorological convention.

    A wind towards east blows from 270°; towards north from 180°. Blowing 3 m/s east
    and 4 m/s north it comes from 180° + atan(3/4) = 216.87° at 5 m/s.
    """
    text = table(u=[3, 5, 0, 0, None], v=[4, 0, 5, 0, 1])
    columns = {
        "wind_east": {"column": "u", "unit": "m/s"},
        "wind_north": {"column": "v", "unit": "m/s"},
    }
    frame = read_csv(foreign(text, columns=columns)).frame
    np.testing.assert_allclose(frame.wind_speed, [5, 5, 5, 0, NAN])
    np.testing.assert_allclose(
        frame.wind_from, [216.8698976, 270, 180, NAN, NAN], atol=1e-6
    )


@pytest.mark.parametrize(
    "names", [["wind_east"], ["wind_east", "wind_north", "wind_speed"]]
)
def test_wind_is_given_one_way_or_the_other(foreign: Foreign, names: list[str]) -> None:
    """Half a pair of components, or both ways at once, is a fault."""
    columns = {name: {"column": "u", "unit": "m/s"} for name in names}
    with pytest.raises(SettingsError, match="wind_east and wind_north"):
        read_csv(foreign(table(u=[1.0]), columns=columns))


def test_wind_at_two_metres(foreign: Foreign) -> None:
    """Wind at 2 m is brought to 10 m by the log law over short grass.

    u10 = u2 · ln(10/z0) / ln(2/z0), z0 = 0.03 m, which is 1.383 u2 (derived).
    """
    path = foreign(
        table(wind_speed=[3.0], wind_gust=[6.0]),
        columns=named(wind_speed="m/s", wind_gust="m/s"),
        table={"wind_height_m": 2},
    )
    imported = read_csv(path)
    factor = np.log(10 / 0.03) / np.log(2 / 0.03)
    assert imported.frame.wind_speed[0] == pytest.approx(3 * factor)
    assert imported.frame.wind_gust[0] == pytest.approx(6 * factor)
    assert "wind measured at 2 m" in str(imported.frame.provenance.notes)
