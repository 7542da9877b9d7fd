"""One season from hours so far, hours ahead and past years."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.domain.weather import (
    Floats,
    Origin,
    Provenance,
    WeatherFrame,
    empty_columns,
)
from forecaster.sources.days_table import DayOrigin, DaysTable
from forecaster.sources.season import (
    ExtremesOfYears,
    HoursOfYears,
    Season,
    fill_short_gaps,
    moved_years,
    season_span,
    solar_offset,
)

HORSHAM = Place(-36.7, 142.2, 128.0, "Australia/Melbourne")
YORK_STATE = Place(40.6, -73.8, 4.0, "America/New_York")
HOUR = np.timedelta64(3600, "s")
NAN = math.nan


def hours(first: str, last: str, temperature: float = 10.0) -> WeatherFrame:
    """A steady temperature on the hours from ``first`` up to ``last``, UTC."""
    time = np.arange(np.datetime64(first, "s"), np.datetime64(last, "s"), HOUR)
    columns = empty_columns(time.size)
    columns["air_temperature"] = np.full(time.size, temperature)
    columns["rain"] = np.full(time.size, 0.5)
    return WeatherFrame(
        time=time,
        **columns,
        origin=np.full(time.size, Origin.OBSERVED, np.uint8),
        provenance=Provenance("a test", "none", time[-1]),
        marks={},
    )


def without(frame: WeatherFrame, rows: slice) -> WeatherFrame:
    """The table with the temperature of some rows lost."""
    lost = frame.air_temperature.copy()
    lost[rows] = NAN
    return replace(frame, air_temperature=lost)


class Steady:
    """Past years that each give the same thermal time every day."""

    def __init__(self, *years: float) -> None:
        self._years = np.array(years)

    def daily(
        self, first: np.datetime64, days: int, base: float, ceiling: float
    ) -> Floats:
        """Whatever the weed."""
        del first, base, ceiling
        return np.repeat(self._years[:, None], days, axis=1)


@pytest.mark.parametrize(
    ("place", "moment", "first", "days"),
    [
        (HORSHAM, "2026-10-12T00", "2026-01-01", 365),
        (HORSHAM, "2024-03-01T00", "2024-01-01", 366),
        # 15:00 UTC on 31 December is past midnight in western Victoria
        (HORSHAM, "2026-12-31T15", "2027-01-01", 365),
        (HORSHAM, "2026-12-31T13", "2026-01-01", 365),
        (YORK_STATE, "2013-04-20T12", "2012-07-01", 365),
        (YORK_STATE, "2013-07-01T12", "2013-07-01", 365),
        (YORK_STATE, "2013-07-01T03", "2012-07-01", 365),
    ],
)
def test_a_season_is_a_calendar_year_in_the_south_and_its_mirror_in_the_north(
    place: Place, moment: str, first: str, days: int
) -> None:
    """By the local solar day: UTC+9 at 142° E, UTC−5 at 74° W."""
    assert season_span(place, np.datetime64(moment, "s")) == (
        np.datetime64(first, "D"),
        days,
    )


def test_the_solar_day_is_cut_by_longitude() -> None:
    """142.2/15 rounds to 9 h; −73.8/15 to −5 h."""
    assert solar_offset(HORSHAM) == np.timedelta64(9 * 3600, "s")
    assert solar_offset(YORK_STATE) == np.timedelta64(-5 * 3600, "s")


def test_days_and_moments_are_two_readings_of_one_count() -> None:
    """Day 1.5 of 2026 at UTC+9 is 03:00 UTC on 2 January."""
    season = Season(
        HORSHAM,
        hours("2026-01-01", "2026-01-03"),
        np.datetime64("2026-01-01"),
        365,
        None,
    )
    moment = season.moment_of(1.5)
    assert moment == np.datetime64("2026-01-02T03:00", "s")
    assert season.day_of(moment) == 1.5


def test_known_days_come_first_and_each_past_year_follows() -> None:
    """Ten known days of 10 °C, then 3 or 5 °C d a day: two traces."""
    # Local solar midnight is 15:00 UTC the day before.
    frame = hours("2025-12-31T15", "2026-01-10T15")
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 20, Steady(3.0, 5.0))
    daily, filled = season.daily(0.0, 26.0)
    assert filled == 0
    np.testing.assert_allclose(daily[:, :10], 10.0)
    np.testing.assert_allclose(daily[0, 10:], 3.0)
    np.testing.assert_allclose(daily[1, 10:], 5.0)


def test_without_past_years_the_season_ends_with_its_hours() -> None:
    """One trace as long as what is known, never padded."""
    frame = hours("2025-12-31T15", "2026-01-10T15")
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 365, None)
    daily, _ = season.daily(0.0, 26.0)
    assert daily.shape == (1, 10)


def test_unknown_days_of_the_past_take_the_mean_of_past_years_and_are_counted() -> None:
    """Days 3 and 4 are lost: (3 + 5) / 2, and the count says two."""
    frame = hours("2025-12-31T15", "2026-01-10T15")
    frame = without(frame, slice(48, 96))
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 20, Steady(3.0, 5.0))
    daily, filled = season.daily(0.0, 26.0)
    assert filled == 2
    np.testing.assert_allclose(daily[:, 2:4], 4.0)


def test_without_past_years_two_lost_days_are_drawn_straight_three_stay_unknown() -> (
    None
):
    """Between days of 10 °C d; nothing is drawn beyond the last known day."""
    whole = hours("2025-12-31T15", "2026-01-10T15")
    for lost, expected in ((2, 10.0), (3, NAN)):
        frame = without(whole, slice(48, 48 + 24 * lost))
        season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 20, None)
        daily, filled = season.daily(0.0, 26.0)
        assert (daily.shape, filled) == ((1, 10), lost)
        np.testing.assert_array_equal(daily[0, 2 : 2 + lost], np.full(lost, expected))


def test_too_many_unknown_days_stay_unknown() -> None:
    """Eleven lost days are more than past years may stand in for."""
    early = hours("2025-12-31T15", "2026-01-02T15")
    late = hours("2026-01-13T15", "2026-01-15T15")
    time = np.arange(early.time[0], late.time[-1] + HOUR, HOUR)
    columns = empty_columns(time.size)
    known = np.isin(time, np.concatenate([early.time, late.time]))
    columns["air_temperature"] = np.where(known, 10.0, NAN)
    frame = WeatherFrame(
        time=time,
        **columns,
        origin=np.where(known, Origin.OBSERVED, Origin.MISSING).astype(np.uint8),
        provenance=early.provenance,
        marks={},
    )
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 20, Steady(3.0))
    daily, filled = season.daily(0.0, 26.0)
    assert filled == 11
    assert np.isnan(daily[0, 2:13]).all()


def test_past_years_too_full_of_holes_are_left_out() -> None:
    """A year with half its days missing is no trace; one with a few is mended."""

    class Holed(Steady):
        def daily(
            self, first: np.datetime64, days: int, base: float, ceiling: float
        ) -> Floats:
            """Second year half missing, third with one hole."""
            years = super().daily(first, days, base, ceiling)
            years[1, days // 2 :] = NAN
            years[2, -1] = NAN
            return years

    frame = hours("2025-12-31T15", "2026-01-10T15")
    season = Season(
        HORSHAM, frame, np.datetime64("2026-01-01"), 60, Holed(3.0, 4.0, 5.0)
    )
    daily, _ = season.daily(0.0, 26.0)
    assert daily.shape == (2, 60)
    assert daily[1, -1] == 3.0  # the only year that knows that date


def ensemble(first: str, last: str, *temperatures: float) -> WeatherFrame:
    """Members of a steady temperature each."""
    frame = hours(first, last)
    columns = {
        name: np.full((len(temperatures), len(frame)), NAN) for name in empty_columns(0)
    }
    steady = np.array(temperatures)[:, None]
    columns["air_temperature"] = np.repeat(steady, len(frame), axis=1)
    return WeatherFrame(
        time=frame.time,
        **columns,
        origin=frame.origin,
        provenance=frame.provenance,
        marks={},
    )


def test_members_take_over_from_today_and_years_follow_in_turn() -> None:
    """Ten known days, members on days 8 to 14, then past years: every pair in turn."""
    season = Season(
        HORSHAM,
        hours("2025-12-31T15", "2026-01-10T15"),
        np.datetime64("2026-01-01"),
        20,
        Steady(3.0, 5.0),
        members=ensemble("2026-01-05T15", "2026-01-14T15", 11.0, 12.0, 13.0),
        today=8,
    )
    daily, filled = season.daily(0.0, 26.0)
    assert (daily.shape, filled) == ((3, 20), 0)
    np.testing.assert_allclose(daily[:, :8], 10.0)
    np.testing.assert_allclose(
        daily[:, 8:14], np.array([[11.0], [12.0], [13.0]]) * np.ones(6)
    )
    np.testing.assert_allclose(
        daily[:, 14:], np.array([[3.0], [5.0], [3.0]]) * np.ones(6)
    )


def test_more_years_than_members_give_each_year_its_trace() -> None:
    """Two members, three years: members are repeated."""
    season = Season(
        HORSHAM,
        hours("2025-12-31T15", "2026-01-10T15"),
        np.datetime64("2026-01-01"),
        14,
        Steady(3.0, 4.0, 5.0),
        members=ensemble("2026-01-10T15", "2026-01-12T15", 11.0, 12.0),
        today=10,
    )
    daily, _ = season.daily(0.0, 26.0)
    assert daily[:, 11].tolist() == [11.0, 12.0, 11.0]
    assert daily[:, 13].tolist() == [3.0, 4.0, 5.0]


def test_members_without_past_years_end_where_they_end() -> None:
    """No years: as many traces as members, as long as the members reach."""
    season = Season(
        HORSHAM,
        hours("2025-12-31T15", "2026-01-10T15"),
        np.datetime64("2026-01-01"),
        365,
        None,
        members=ensemble("2026-01-10T15", "2026-01-12T15", 11.0, 12.0),
        today=10,
    )
    daily, _ = season.daily(0.0, 26.0)
    assert daily.shape == (2, 12)


def test_extremes_stand_in_for_the_days_before_the_hours() -> None:
    """The season's own earlier days, by the same formula; the hours win after."""
    day = np.arange(np.datetime64("2026-01-01"), np.datetime64("2026-01-09"))
    steady = np.full(day.size, 7.0)
    season = Season(
        HORSHAM,
        hours("2026-01-05T15", "2026-01-10T15"),
        np.datetime64("2026-01-01"),
        20,
        None,
        earlier=DaysTable(day, steady, steady.copy(), steady.copy()),
    )
    daily, _ = season.daily(0.0, 26.0)
    np.testing.assert_allclose(daily[0], [7.0] * 5 + [10.0] * 5)


def days_from(
    origin: DayOrigin, first: str, days: int, warmth: float, rain: float = 0.0
) -> DaysTable:
    """Steady days of one record."""
    day = np.datetime64(first) + np.arange(days)
    steady = np.full(days, warmth)
    table = DaysTable(day, steady, steady.copy(), np.full(days, rain))
    return table.said_to_be_from(origin)


@pytest.mark.parametrize(
    ("origin", "expected"),
    [
        (DayOrigin.SILO, [7.0] * 8 + [10.0] * 2),
        (DayOrigin.ARCHIVE, [7.0] * 5 + [10.0] * 5),
        (DayOrigin.UNSTATED, [7.0] * 5 + [10.0] * 5),
    ],
)
def test_only_silo_s_days_go_before_the_hours(
    origin: DayOrigin, expected: list[float]
) -> None:
    """Eight days of 7 °C, hours of 10 °C from the sixth day on; rain likewise."""
    season = Season(
        HORSHAM,
        hours("2026-01-05T15", "2026-01-10T15"),
        np.datetime64("2026-01-01"),
        10,
        None,
        earlier=days_from(origin, "2026-01-01", 8, 7.0, rain=2.0),
    )
    daily, _ = season.daily(0.0, 26.0)
    np.testing.assert_allclose(daily[0], expected)
    rain = [2.0 if each == 7.0 else 12.0 for each in expected]
    np.testing.assert_allclose(season.daily_rain(), rain)


def test_a_station_s_days_go_before_silo_unless_they_lack() -> None:
    """Of days 6 to 8 the station saw 6 and 7; day 7 was lost to quality control."""
    frame = without(hours("2026-01-05T15", "2026-01-10T15"), slice(24, 48))
    season = Season(
        HORSHAM,
        frame,
        np.datetime64("2026-01-01"),
        10,
        None,
        earlier=days_from(DayOrigin.SILO, "2026-01-01", 8, 7.0),
        station_days=np.array(["2026-01-06", "2026-01-07"], "datetime64[D]"),
    )
    daily, _ = season.daily(0.0, 26.0)
    np.testing.assert_allclose(daily[0], [7.0] * 5 + [10.0, 7.0, 7.0, 10.0, 10.0])


def test_days_of_other_seasons_say_nothing_of_this_one() -> None:
    """A daily record that ends before the season begins changes no day of it."""
    season = Season(
        HORSHAM,
        hours("2025-12-31T15", "2026-01-10T15"),
        np.datetime64("2026-01-01"),
        20,
        None,
        earlier=days_from(DayOrigin.SILO, "2024-01-01", 30, 7.0),
    )
    daily, _ = season.daily(0.0, 26.0)
    np.testing.assert_allclose(daily[0], [10.0] * 10)


def test_days_the_hours_lack_come_from_the_archive_of_the_season() -> None:
    """Not from past years: a day of hours lost in the middle is known by the day."""
    frame = without(hours("2025-12-31T15", "2026-01-10T15"), slice(72, 96))
    season = Season(
        HORSHAM,
        frame,
        np.datetime64("2026-01-01"),
        20,
        Steady(3.0),
        earlier=days_from(DayOrigin.ARCHIVE, "2026-01-01", 8, 7.0),
    )
    daily, filled = season.daily(0.0, 26.0)
    assert filled == 0
    expected = [10.0] * 3 + [7.0] + [10.0] * 6 + [3.0] * 10
    np.testing.assert_allclose(daily[0], expected)


def test_rain_of_a_day_is_the_sum_of_its_hours() -> None:
    """24 × 0.5 mm; days with few hours are not known."""
    frame = hours("2025-12-31T15", "2026-01-02T20")
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 4, None)
    np.testing.assert_array_equal(season.daily_rain(), [12.0, 12.0, NAN, NAN])


def test_a_day_short_of_four_hours_of_rain_is_told_five_is_not() -> None:
    """Twenty known hours make a day's rain, nineteen do not."""
    frame = hours("2025-12-31T15", "2026-01-02T11")
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 2, None)
    np.testing.assert_array_equal(season.daily_rain(), [12.0, 10.0])
    frame = hours("2025-12-31T15", "2026-01-02T10")
    season = Season(HORSHAM, frame, np.datetime64("2026-01-01"), 2, None)
    np.testing.assert_array_equal(season.daily_rain(), [12.0, NAN])


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ([1, NAN, 3], [1, 2, 3]),
        ([1, NAN, NAN, NAN, 5], [1, 2, 3, 4, 5]),
        ([1, NAN, NAN, NAN, NAN, 6], [1, NAN, NAN, NAN, NAN, 6]),
        ([NAN, 2, 3], [NAN, 2, 3]),
        ([2, 3, NAN], [2, 3, NAN]),
        ([NAN, NAN], [NAN, NAN]),
        ([1, 2], [1, 2]),
    ],
)
def test_gaps_of_up_to_three_hours_are_drawn_straight(
    given: list[float], expected: list[float]
) -> None:
    """Longer ones, and those at either end, stay unknown."""
    np.testing.assert_array_equal(fill_short_gaps(np.array(given, float)), expected)


def test_dates_move_by_the_calendar_over_leap_years() -> None:
    """The same date in another year; 29 February becomes the 28th."""
    days = np.array(["2024-02-28", "2024-02-29", "2024-03-01"], dtype="datetime64[D]")
    assert [str(day) for day in moved_years(days, 1)] == [
        "2025-02-28",
        "2025-02-28",
        "2025-03-01",
    ]
    assert str(moved_years(days[2:], -124)[0]) == "1900-03-01"


def test_extremes_of_past_years_leave_out_the_season_itself() -> None:
    """Three years of steady 10 °C days: two of them are past to the middle one."""
    day = np.arange(np.datetime64("2024-01-01"), np.datetime64("2027-01-01"))
    steady = np.full(day.size, 10.0)
    past = ExtremesOfYears(
        DaysTable(day, steady, steady.copy(), steady.copy()), HORSHAM
    )
    daily = past.daily(np.datetime64("2025-01-01"), 365, 0.0, 26.0)
    assert daily.shape == (2, 365)
    np.testing.assert_allclose(daily, 10.0)


def test_hours_of_other_years_serve_as_past_years() -> None:
    """A two-year record gives one trace to either year, and none alone."""
    record = HoursOfYears(hours("2024-12-31T15", "2026-12-31T15", 12.0), HORSHAM)
    daily = record.daily(np.datetime64("2026-01-01"), 365, 0.0, 26.0)
    assert daily.shape == (1, 365)
    np.testing.assert_allclose(daily, 12.0)
    single = HoursOfYears(hours("2025-12-31T15", "2026-12-31T15"), HORSHAM)
    assert single.daily(np.datetime64("2026-01-01"), 365, 0, 26).shape == (0, 365)
