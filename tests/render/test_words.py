"""How numbers, times and reasons are said."""

from __future__ import annotations

import math

import numpy as np
import pytest

from forecaster.domain.outlook import Likely
from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.hours import Reason, Why
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side
from forecaster.render import words
from forecaster.render.words import LocalClock

NAN = math.nan


def reason(
    quantity: Quantity,
    value: float,
    bound: float,
    *,
    why: Why = Why.OUTSIDE,
    side: Side = Side.MAX,
    rank: Rank = Rank.ADVICE,
    name: str = "advice",
    mark: Mark = Mark.PUBLISHED,
) -> Reason:
    """A reason about one limit."""
    stated = Sourced(bound, "1", bound, bound, "a test", "a page", mark)
    limit = Limit(name, quantity, side, bound, stated, rank, "its words", 1.0)
    return Reason(limit, why, value, bound - value)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (
            reason(Quantity.WIND_10M, 25 / 3.6, 20 / 3.6, rank=Rank.LAW, name="x.y"),
            "wind at 10 m 25 km/h over 20 km/h (the label)",
        ),
        (
            reason(Quantity.WIND_10M, 4.17, 15 / 3.6, why=Why.INSIDE),
            "wind at 10 m 15.01 km/h at or under 15.00 km/h (advice)",
        ),
        (
            reason(Quantity.DELTA_T, 1.2, 2.0, side=Side.MIN, mark=Mark.USER),
            "Delta T 1.2 under 2.0 (the farm's own choice)",
        ),
        (
            reason(Quantity.DELTA_T, 2.3, 2.0, side=Side.MIN, why=Why.INSIDE),
            "Delta T 2.3 at or over 2.0 (advice)",
        ),
        (
            reason(Quantity.DELTA_T, 8.04, 8.0),
            "Delta T 8.04 over 8.00 (advice)",
        ),
        (
            reason(Quantity.WIND_2M, NAN, 1.0, why=Why.UNCONFIRMED, rank=Rank.LAW),
            "wind at 2 m: no number typed and confirmed from the label",
        ),
        (reason(Quantity.RAIN_LAST_24H, NAN, 10.0, why=Why.MISSING),
         "wet ground: rain in 24 h not known"),
        (reason(Quantity.INVERSION_RISK, 2.0, 1.0), "inversion risk high"),
        (reason(Quantity.SUN_ELEVATION, -5.0, 0.0), "dark"),
        (reason(Quantity.SUN_ELEVATION, 5.0, 0.0, why=Why.INSIDE), "daylight"),
        (reason(Quantity.WIND_SIDE, 1.0, 1.0), "wind towards a sensitive area"),
        (reason(Quantity.WIND_SIDE, 0.0, 1.0, why=Why.INSIDE),
         "wind away from care areas"),
        (reason(Quantity.LIGHT_WIND_SIDE, 1.0, 1.0),
         "under 11 km/h any side may be downwind"),
        (reason(Quantity.LIGHT_WIND_SIDE, 0.0, 1.0, why=Why.INSIDE),
         "wind strong enough to trust its side"),
        (reason(Quantity.WEATHER_AGE, 90.0, 72.0, rank=Rank.DATA),
         "forecast age 90 h over 72 h (what can be judged)"),
        (reason(Quantity.RAIN_FREE_HOURS, 2.0, 6.0, side=Side.MIN, rank=Rank.LAW,
                name="wind_side"),
         "dry hours after 2 h under 6 h (your care distances)"),
    ],
)  # fmt: skip
def test_reasons_are_said_in_one_clause(given: Reason, expected: str) -> None:
    """Value, bound and whose number it is; kilometres an hour for wind."""
    assert words.reason_words(given) == expected


def test_every_quantity_has_words_of_its_own() -> None:
    """No reason falls back on a bare number."""
    for quantity in Quantity:
        value = 1.0 if quantity is not Quantity.SUN_ELEVATION else -1.0
        said = words.reason_words(reason(quantity, value, 0.0))
        assert said[0].islower() or said.startswith("Delta T")
        assert "its words" not in said


def test_reasons_said_twice_are_said_once() -> None:
    """Label and advice on the same risk make one clause."""
    twice = [
        reason(Quantity.INVERSION_RISK, 2.0, 1.0),
        reason(Quantity.INVERSION_RISK, 2.0, 0.0),
    ]
    assert words.reasons_words(twice) == "inversion risk high"


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        (0.0, "under 1 in 20"),
        (0.049, "under 1 in 20"),
        (0.05, "1 in 10"),
        (0.14, "1 in 10"),
        (0.3, "3 in 10"),
        (0.68, "7 in 10"),
        (0.94, "9 in 10"),
        (0.96, "over 9 in 10"),
        (1.0, "over 9 in 10"),
        (NAN, "unknown"),
    ],
)
def test_chances_are_said_as_so_many_in_ten(share: float, expected: str) -> None:
    """Never a bare percentage, never certain."""
    assert words.in_ten(share) == expected


@pytest.mark.parametrize(
    ("bearing", "expected"),
    [(0, "N"), (11.2, "N"), (11.3, "NNE"), (225, "SW"), (350, "N"), (NAN, "calm")],
)
def test_sides_are_compass_points(bearing: float, expected: str) -> None:
    """Sixteen points, 22.5° each."""
    assert words.side(bearing) == expected


def test_spans_collapse_where_both_ends_read_the_same() -> None:
    """14 km/h, not 14 to 14."""
    assert words.kmh_span((3.9, 3.92)) == "14"
    assert words.kmh_span((2.2, 3.9)) == "8 to 14"
    assert words.kmh_span((NAN, NAN)) == "-"
    assert words.number_span((3.91, 3.94)) == "3.9"
    assert words.number_span((3.9, 6.3)) == "3.9 to 6.3"


def test_a_block_over_midnight_names_both_days() -> None:
    """Within a day the end is an hour; over midnight it has its own day."""
    clock = LocalClock("Australia/Melbourne")
    noon = np.datetime64("2026-10-12T01:00", "s")
    hour = np.timedelta64(3600, "s")
    assert clock.span(noon, noon + 3 * hour) == "Mon 12 Oct 12:00-15:00"
    assert clock.span(noon, noon + 15 * hour) == "Mon 12 Oct 12:00 - Tue 13 Oct 03:00"


def test_a_date_beyond_the_weather_is_later() -> None:
    """None is not a date."""
    clock = LocalClock("Australia/Perth")
    day = np.datetime64("2026-10-12T01:00", "s")
    assert (
        words.likely_range(Likely(day, None, None), clock) == "later (12 Oct to later)"
    )
