"""Status and chances of hand-made windows."""

from __future__ import annotations

import math

import numpy as np
import pytest

from forecaster.domain.growth.stage_window import StageWindow
from forecaster.domain.planning.windows import Status, status_of, still_open


def window(opened: list[float], closed: list[float]) -> StageWindow:
    """Equally likely outcomes, as traces of one node."""
    first, last = np.array(opened)[:, None], np.array(closed)[:, None]
    return StageWindow(first, first, last, last)


def sure(opened: float, closed: float) -> StageWindow:
    """A window without any uncertainty."""
    return window([opened], [closed])


@pytest.mark.parametrize(
    ("day", "status"),
    [
        (0.0, Status.NOT_OPEN),
        (12.9, Status.NOT_OPEN),
        (13.0, Status.OPENING_SOON),  # seven days before the likely opening
        (19.9, Status.OPENING_SOON),
        (20.0, Status.OPEN),
        (30.9, Status.OPEN),
        (31.0, Status.CLOSING),  # three days before the likely close
        (33.9, Status.CLOSING),
        (34.0, Status.CLOSED),
        (99.0, Status.CLOSED),
    ],
)
def test_status_of_a_sure_window(day: float, status: Status) -> None:
    """Open from day 20 to day 34: each phase begins on its stated day."""
    assert status_of(sure(20.0, 34.0), day).status is status


def test_a_window_that_may_close_within_two_days_is_closing() -> None:
    """Of five outcomes open now one closes by the day after tomorrow: 1 in 5."""
    likely_far_off = window([0.0] * 5, [11.0, 20.0, 21.0, 22.0, 23.0])
    assert status_of(likely_far_off, 9.5).status is Status.CLOSING
    assert status_of(likely_far_off, 8.5).status is Status.OPEN


def test_outcomes_already_closed_do_not_make_the_rest_closing() -> None:
    """What is over in some outcomes is no hazard in the others."""
    spread = window([0.0] * 5, [1.0, 2.0, 30.0, 31.0, 32.0])
    assert status_of(spread, 10.0).status is Status.OPEN


def test_chances_of_before_in_and_after_sum_to_one() -> None:
    """Ten outcomes: two not open yet, five open, three over."""
    opened = [0.0] * 8 + [15.0] * 2
    closed = [5.0] * 3 + [25.0] * 7
    now = status_of(window(opened, closed), 10.0)
    assert (now.not_yet, now.open_now, now.over) == pytest.approx((0.2, 0.5, 0.3))


def test_days_to_close_count_from_now() -> None:
    """A sure close on day 34 is 4 days off on day 30."""
    to_close = status_of(sure(20.0, 34.0), 30.0).days_to_close
    assert [float(edge) for edge in to_close] == [4.0, 4.0, 4.0]


def test_unknown_edges_make_the_status_unknown() -> None:
    """One outcome that cannot be told is enough, and no chance is invented."""
    now = status_of(window([20.0, math.nan], [34.0, math.nan]), 25.0)
    assert now.status is Status.UNKNOWN
    assert math.isnan(now.open_now)
    assert math.isnan(now.not_yet)


def test_a_close_later_than_the_weather_is_still_open() -> None:
    """+inf means not reached: open, with an unbounded number of days to close."""
    now = status_of(sure(20.0, math.inf), 25.0)
    assert now.status is Status.OPEN
    assert math.isinf(float(now.days_to_close.likely))


def test_sprayed_wins_over_everything() -> None:
    """A sprayed paddock is done, whatever the window does."""
    assert status_of(sure(20.0, 34.0), 25.0, sprayed=True).status is Status.SPRAYED
    assert (
        status_of(sure(math.nan, math.nan), 25.0, sprayed=True).status is Status.SPRAYED
    )


def test_chance_still_open_falls_as_a_normal_close_goes_by() -> None:
    """Close ~ N(12, 4 d): P(open) at the start of day 13…19 is 1 − Φ((d − 12)/4).

    Closed form with math.erf; 4,001 equally likely outcomes stand for the normal.
    """
    from statistics import NormalDist

    close = NormalDist(12.0, 4.0)
    outcomes = [close.inv_cdf((i + 0.5) / 4001) for i in range(4001)]
    days = np.arange(13.0, 20.0)
    found = still_open(window([-99.0] * 4001, outcomes), days)
    expected = [0.5 * math.erfc((day - 12.0) / 4.0 / math.sqrt(2.0)) for day in days]
    np.testing.assert_allclose(found, expected, atol=2e-4)
