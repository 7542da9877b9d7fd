"""Hours against limits, by hand-worked tables."""

from __future__ import annotations

import math

import numpy as np
import pytest

from forecaster.domain.sourced import Mark, Sourced
from forecaster.domain.spraying.hours import Why, judge, margins
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict

NAN = math.nan
TIMES = np.arange("2026-10-12T00", "2026-10-12T04", dtype="datetime64[h]").astype(
    "datetime64[s]"
)


def limit(**changes: object) -> Limit:
    """A confirmed label maximum of 5 m/s unless told otherwise."""
    number = Sourced(5, "m/s", 5, 5, "a test", "a page", Mark.ASSUMED)
    values: dict[str, object] = {
        "id": "wind_max",
        "quantity": Quantity.WIND_10M,
        "side": Side.MAX,
        "bound": 5.0,
        "stated": number,
        "rank": Rank.LAW,
        "words": "wind",
        "error": 1.0,
    }
    return Limit(**{**values, **changes})  # type: ignore[arg-type]  # a test builder


@pytest.mark.parametrize(
    ("changes", "value", "verdict", "why"),
    [
        ({}, 4.0, Verdict.GOOD, Why.INSIDE),
        ({}, 5.0, Verdict.GOOD, Why.INSIDE),
        ({}, 5.1, Verdict.HOLD, Why.OUTSIDE),
        ({}, NAN, Verdict.UNKNOWN, Why.MISSING),
        ({"side": Side.MIN}, 5.0, Verdict.GOOD, Why.INSIDE),
        ({"side": Side.MIN}, 4.9, Verdict.HOLD, Why.OUTSIDE),
        ({"side": Side.BELOW}, 5.0, Verdict.HOLD, Why.OUTSIDE),
        ({"side": Side.BELOW}, 4.9, Verdict.GOOD, Why.INSIDE),
        ({"confirmed": False}, 4.0, Verdict.UNKNOWN, Why.UNCONFIRMED),
        ({"confirmed": False}, 9.0, Verdict.UNKNOWN, Why.UNCONFIRMED),
        ({"confirmed": False}, NAN, Verdict.UNKNOWN, Why.UNCONFIRMED),
        (
            {"confirmed": False, "on_missing": Verdict.GOOD},
            NAN,
            Verdict.UNKNOWN,
            Why.UNCONFIRMED,
        ),
        ({"rank": Rank.ADVICE}, 9.0, Verdict.LOOK_FIRST, Why.OUTSIDE),
        ({"rank": Rank.ADVICE}, NAN, Verdict.UNKNOWN, Why.MISSING),
        ({"rank": Rank.ADVICE, "holds": True}, 9.0, Verdict.HOLD, Why.OUTSIDE),
        (
            {"rank": Rank.ADVICE, "on_missing": Verdict.GOOD},
            NAN,
            Verdict.GOOD,
            Why.INSIDE,
        ),
        (
            {"rank": Rank.ADVICE, "on_missing": Verdict.LOOK_FIRST},
            NAN,
            Verdict.LOOK_FIRST,
            Why.MISSING,
        ),
        ({"rank": Rank.DATA}, 9.0, Verdict.UNKNOWN, Why.OUTSIDE),
    ],
)
def test_one_limit_does_what_its_rank_allows(
    changes: dict[str, object], value: float, verdict: Verdict, why: Why
) -> None:
    """Law holds, advice asks for a look, data and unconfirmed labels say unknown."""
    judged = judge(TIMES[:1], np.array([[value]]), [limit(**changes)])
    assert judged.verdict[0] == verdict
    assert judged.why[0, 0] == why


def test_the_worst_limit_decides_and_is_named() -> None:
    """Hold comes before unknown before look first before good, hour by hour."""
    law = limit()
    advice = limit(id="advice", rank=Rank.ADVICE, bound=3.0)
    data = limit(id="data", rank=Rank.DATA, bound=100.0)
    values = np.array([[2.0, 4.0, 6.0, 6.0], [2.0, 4.0, 6.0, 6.0], [0, 0, 0, 200.0]])
    judged = judge(TIMES, values, [law, advice, data])
    assert judged.verdict.tolist() == [
        Verdict.GOOD,
        Verdict.LOOK_FIRST,
        Verdict.HOLD,
        Verdict.HOLD,
    ]
    assert [judged.binding_reason(hour).limit.id for hour in range(4)] == [
        "advice",  # good: 1 m/s of room against 3 and 100
        "advice",
        "wind_max",
        "wind_max",
    ]


def test_margins_are_positive_inside_on_either_side() -> None:
    """A maximum of 5 leaves 1 at 4; a minimum of 5 lacks 1 there."""
    found = margins(np.array([[4.0], [4.0]]), [limit(), limit(side=Side.MIN)])
    assert found[:, 0].tolist() == [1.0, -1.0]


def test_room_is_measured_in_typical_errors() -> None:
    """2 K of room with an error of 4 K is tighter than 1 m/s with one of 0.5 m/s."""
    near = limit(id="rough", bound=6.0, error=4.0)
    far = limit(id="sharp", bound=5.0, error=0.5)
    judged = judge(TIMES[:1], np.array([[4.0], [4.0]]), [near, far])
    assert judged.binding_reason(0).limit.id == "rough"


def test_every_limit_against_an_hour_is_told_once_binding_first() -> None:
    """The binding limit leads; limits that hold are not reasons."""
    limits = [
        limit(id="a", rank=Rank.ADVICE, bound=1.0),
        limit(id="b"),
        limit(id="c", bound=50.0),
        limit(id="d", confirmed=False),
    ]
    judged = judge(TIMES[:1], np.full((4, 1), 9.0), limits)
    assert [reason.limit.id for reason in judged.reasons(0)] == ["b", "a", "d"]


def test_a_limit_passed_over_without_a_value_never_binds() -> None:
    """A missing gust is passed over, and the known limit is the tightest."""
    gust = limit(id="gust", on_missing=Verdict.GOOD, rank=Rank.ADVICE)
    judged = judge(TIMES[:1], np.array([[NAN], [4.0]]), [gust, limit()])
    assert judged.binding_reason(0).limit.id == "wind_max"


def test_members_and_paddocks_are_leading_axes() -> None:
    """(members, limits, hours) in, (members, hours) out, each as if alone."""
    rng = np.random.default_rng(5)
    values = rng.uniform(0, 10, (3, 2, 4))
    limits = [limit(), limit(id="low", side=Side.MIN, bound=2.0, rank=Rank.ADVICE)]
    together = judge(TIMES, values, limits)
    for member in range(3):
        alone = judge(TIMES, values[member], limits)
        assert np.array_equal(together.verdict[member], alone.verdict)
        assert np.array_equal(together.binding[member], alone.binding)


def test_limits_and_quantities_must_match() -> None:
    """One limit for two rows of quantities, or none at all, is refused."""
    with pytest.raises(ValueError, match="1 limits for 2 quantities"):
        judge(TIMES[:1], np.zeros((2, 1)), [limit()])
    with pytest.raises(ValueError, match="0 limits"):
        judge(TIMES[:1], np.zeros((0, 1)), [])


def test_tightening_moves_to_the_strict_side() -> None:
    """A maximum comes down, a minimum goes up."""
    assert limit().tightened(1.0).bound == 4.0
    assert limit(side=Side.MIN).tightened(1.0).bound == 6.0
