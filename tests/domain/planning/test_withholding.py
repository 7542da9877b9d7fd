"""When stock may come back, counted on a calendar."""

from __future__ import annotations

import numpy as np
import pytest

from forecaster.domain.planning.withholding import (
    NOT_TYPED,
    LabelSays,
    Withholding,
    longer,
)


@pytest.mark.parametrize(
    ("sprayed", "days", "first"),
    [
        ("2026-10-14", 7, "2026-10-22"),
        ("2026-10-14", 0, "2026-10-15"),
        ("2026-10-14", 1, "2026-10-16"),
        ("2026-12-28", 7, "2027-01-05"),
        ("2028-02-28", 1, "2028-03-01"),
    ],
)
def test_the_day_of_the_spray_is_day_nought(
    sprayed: str, days: int, first: str
) -> None:
    """Finished on the 14th at 17:00, 7 whole days end on the 21st at 17:00: the 22nd.

    Common practice, no source; over a year's end and a leap day by the calendar.
    """
    held = Withholding(LabelSays.DAYS, days)
    assert str(held.not_before(np.datetime64(sprayed, "D"))) == first


@pytest.mark.parametrize(
    "says", [LabelSays.NONE, LabelSays.UNCONFIRMED, LabelSays.UNREAD]
)
def test_without_a_confirmed_number_there_is_no_date(says: LabelSays) -> None:
    """Whatever number stands beside it; nor without a day."""
    day = np.datetime64("2026-10-14", "D")
    assert Withholding(says, 7).not_before(day) is None
    assert Withholding(LabelSays.DAYS).not_before(day) is None
    assert Withholding(LabelSays.DAYS, 7).not_before(np.datetime64("NaT", "D")) is None
    assert NOT_TYPED.not_before(day) is None


def test_of_two_readings_the_longer_counts() -> None:
    """Days typed come before "none" and "not typed"; more days before fewer."""
    seven, nine = (Withholding(LabelSays.DAYS, days) for days in (7, 9))
    none, open_ = Withholding(LabelSays.NONE), Withholding(LabelSays.UNCONFIRMED)
    for one, other, wanted in (
        (seven, nine, nine), (seven, none, seven), (NOT_TYPED, seven, seven),
        (none, NOT_TYPED, none), (NOT_TYPED, none, none),
    ):  # fmt: skip
        assert longer(one, other) == wanted
        assert longer(other, one) == wanted
    assert longer(NOT_TYPED, open_).days is longer(open_, NOT_TYPED).days is None
