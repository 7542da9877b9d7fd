"""What a look is worth: against another quadrature with scipy's own distributions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.look_value import COUNTS, SURE, USUAL, look_value
from forecaster.domain.growth.season import Projection, project
from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Weed

APRIL = np.datetime64("2026-04-01")
BREAK = np.datetime64("2026-04-25")
FLOOR = 30.0


@pytest.fixture(scope="module")
def barley(weeds: dict[str, Weed]) -> Projection:
    """Barley grass with ten degree-days a day: half headed on day 145.8."""
    return project(weeds["barley_grass"], np.full((1, 275), 10.0), APRIL, BREAK)


def expected(
    projection: Projection, day: float, stage: Stage, count: int, floor: float
) -> tuple[float, float]:
    """Chance of a wrong call and SD of the stage [°C d] after ``count`` heads.

    Translocated window by hand: open from half headed, closed from half at late milk.
    Trapezoid over 801 values of z, Gauss–Hermite over the error of the counting.
    """
    weed = projection.weed
    at = float(projection.thermal_time(day).item())
    z = np.linspace(-5, 5, 801)
    weight = stats.norm.pdf(z)
    weight /= weight.sum()

    def sd(offset: float) -> float:
        return float(np.hypot(weed.prior_sd.value, weed.phase_sd.value * offset))

    late_milk = weed.offset(Stage.LATE_MILK)
    middle = weed.half_headed.value
    is_open = (middle + sd(0) * z <= at) & (at < middle + late_milk + sd(late_milk) * z)
    offset = weed.offset(stage)
    nodes, parts = np.polynomial.hermite_e.hermegauss(25)
    parts = parts / parts.sum()
    seen = middle + offset + sd(offset) * z[:, None] + floor * nodes
    share = stats.norm.cdf((at - seen) / weed.spread.value)
    wrong, left = 0.0, 0.0
    for out in range(count + 1):
        joint = weight * (stats.binom.pmf(out, count, share) @ parts)
        wrong += min(joint[is_open].sum(), joint[~is_open].sum())
        mean = (joint @ z) / joint.sum()
        left += joint.sum() * ((joint @ (z - mean) ** 2) / joint.sum()) ** 0.5
    return wrong, sd(offset) * left


@pytest.mark.parametrize(
    ("day", "floor"),
    [(142.0, FLOOR), (150.0, FLOOR), (163.0, FLOOR), (172.0, FLOOR), (150.0, 0.0)],
)
def test_against_another_quadrature(
    barley: Projection, day: float, floor: float
) -> None:
    """Wrong calls within 0.01, the error left within 2 %, at the best stage."""
    found = look_value(barley, "translocated", np.array([day]), floor=floor)
    assert found is not None
    for place, count in enumerate(COUNTS):
        wrong, left = expected(barley, day, found.stage, count, floor)
        assert found.wrong_after[place, 0] == pytest.approx(wrong, abs=0.01)
        if count == USUAL:
            assert found.sd_after == pytest.approx(left, rel=0.02)
    others = [expected(barley, day, stage, USUAL, floor)[0] for stage in Stage]
    assert found.wrong_after[COUNTS.index(USUAL), 0] <= min(others) + 0.01


def test_more_heads_never_tell_less(barley: Projection) -> None:
    """Fewer wrong calls with every head, and never more than without a look."""
    days = 145.0 + np.arange(8.0)
    found = look_value(barley, "contact", days, floor=FLOOR)
    assert found is not None
    assert (np.diff(found.wrong_after, axis=0) <= 1e-9).all()
    assert (found.wrong_after <= found.wrong_now + 1e-9).all()
    assert 0 < found.gain <= 0.5
    assert found.sd_after < found.sd_now


def test_how_many_heads(barley: Projection) -> None:
    """None where it is known, some where it is not; the smallest count that does."""
    early = look_value(barley, "translocated", np.array([100.0]), floor=FLOOR)
    assert early is not None
    assert early.heads_needed == 0
    unsure = look_value(barley, "translocated", np.array([139.0]), floor=FLOOR)
    assert unsure is not None
    assert unsure.wrong_now[0] > SURE
    needed = unsure.heads_needed
    assert needed in COUNTS
    place = COUNTS.index(needed)
    assert unsure.wrong_after[place, 0] <= SURE
    assert (unsure.wrong_after[:place, 0] > SURE).all()


def test_a_floor_as_wide_as_the_doubt_leaves_no_way_to_tell(
    barley: Projection,
) -> None:
    """Where counting is as unsure as the model, no number of heads is enough."""
    found = look_value(barley, "translocated", np.array([145.8]), floor=115.0)
    assert found is not None
    assert found.heads_needed is None


def test_without_warmth_nothing_is_told(weeds: dict[str, Weed]) -> None:
    """A season that is not known, or a weed not yet up, gives no value."""
    weed = weeds["barley_grass"]
    daily = np.full((1, 275), 10.0)
    daily[0, 60:] = np.nan
    unknown = project(weed, daily, APRIL, BREAK)
    assert look_value(unknown, "contact", np.array([150.0]), floor=FLOOR) is None
    known = project(weed, np.full((1, 275), 10.0), APRIL, BREAK)
    assert look_value(known, "contact", np.array([26.0]), floor=FLOOR) is None


def test_a_sure_belief_needs_no_look(weeds: dict[str, Weed]) -> None:
    """With nothing uncertain but the last degree, nothing is gained."""
    weed = weeds["barley_grass"]
    sure = Belief.prior(weed, 1, shift_sd=1.0)
    projection = project(weed, np.full((1, 275), 10.0), APRIL, BREAK, belief=sure)
    found = look_value(projection, "translocated", np.array([152.0]), floor=FLOOR)
    assert found is not None
    assert found.heads_needed == 0
    assert found.gain == pytest.approx(0.0, abs=1e-6)
