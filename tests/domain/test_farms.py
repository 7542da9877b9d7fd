"""The order of a list of many farms, against sums done by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from outlooks import paddock

from forecaster.domain.farms import FarmFault, farms_outlook, pressure
from forecaster.domain.outlook import Days
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.service.daily import outlook

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, PaddockOutlook
    from forecaster.service.farm_day import FarmDay


@pytest.mark.parametrize(
    ("hectares", "days", "expected"),
    [(60, 3, 20), (20, 1, 20), (10, 0.5, 20), (10, 0.1, 20), (10, -2, 20)],
)
def test_hectares_a_day(hectares: float, days: float, expected: float) -> None:
    """Sixty hectares in three days press as much as twenty in one."""
    assert pressure(hectares, days) == expected
    assert pressure(hectares, None) == 0


def test_the_order_of_the_list(demo_day: FarmDay) -> None:
    """Unknown, then by hectares over days, closed, sprayed; what cannot control, never.

    40 ha in 2 days (20 a day), 50 in 5 (10), 90 in 10 (9), then a close that lies
    beyond the weather.
    """
    whole = outlook(demo_day, demo=True)
    road = paddock(whole)

    def active(
        status: Status, days: float | None, step: Step = Step.SPRAY
    ) -> ActiveOutlook:
        left = Days(None, days, None)
        return replace(road.actives[0], status=status, days_to_close=left, step=step)

    def place(name: str, hectares: float, *actives: ActiveOutlook) -> PaddockOutlook:
        return replace(road, name=name, hectares=hectares, actives=actives)

    first = replace(
        whole,
        farm="A",
        paddocks=(
            place("sprayed", 500, active(Status.SPRAYED, 1)),
            place("closed", 500, active(Status.CLOSED, -3)),
            place("slow", 90, active(Status.NOT_OPEN, 10)),
            place("beyond", 900, active(Status.OPEN, None)),
            place("never", 9, active(Status.OPEN, 1, step=Step.DOES_NOT_CONTROL)),
        ),
    )
    second = replace(
        whole,
        farm="B",
        paddocks=(
            place("middle", 50, active(Status.OPEN, 5)),
            place("quick", 40, active(Status.CLOSING, 2)),
            replace(place("broken", 1), fault="broke"),
            place("lost", 1, active(Status.UNKNOWN, None)),
        ),
    )
    fault = FarmFault("C", "no weather")
    found = farms_outlook((first, second), (fault,))
    assert found.faults == (fault,)
    assert [row.paddock.name for row in found.rows] == [
        "broken", "lost", "quick", "middle", "slow", "beyond", "closed", "sprayed",
    ]  # fmt: skip
    assert [row.pressure for row in found.rows] == [0, 0, 20, 10, 9, 0, 0, 0]
    assert found.rows[0].status is Status.UNKNOWN
    assert found.rows[0].days_to_close is None
    assert found.old == ()


@pytest.mark.parametrize(("age", "old"), [(30.0, 0), (30.1, 1), (float("nan"), 1)])
def test_old_weather_is_named(demo_day: FarmDay, age: float, old: int) -> None:
    """Over 30 hours, or of an age that nobody knows."""
    whole = outlook(demo_day)
    aged = replace(whole, weather=replace(whole.weather, age_hours=age))
    assert len(farms_outlook((aged,), ()).old) == old
