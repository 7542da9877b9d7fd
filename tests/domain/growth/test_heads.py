"""Shares of heads against tables of the normal distribution."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.domain.growth import heads
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.weed import ShareRule, Weed
from forecaster.domain.sourced import Mark, Sourced

if TYPE_CHECKING:
    from collections.abc import Callable


def share_rule(stage: Stage, share: float) -> ShareRule:
    """A rule made for a test."""
    number = Sourced(share, "share", 0, 1, "test", "test", Mark.ASSUMED)
    return ShareRule(stage, number)


def test_normal_share_matches_published_table(
    check_values: Callable[[str], list[Any]],
) -> None:
    """Φ gives Abramowitz and Stegun's table 26.1, and so does NormalDist."""
    for row in check_values("growth_normal"):
        z = float(row.inputs["z"])
        expected = float(row.expected)
        assert heads.normal_share(z) == pytest.approx(expected, abs=row.tolerance)
        assert NormalDist().cdf(z) == pytest.approx(expected, abs=1e-10)


def test_normal_share_matches_scipy_everywhere() -> None:
    """Φ is within 4e-8 of SciPy's, far tails included."""
    from scipy.special import ndtr

    z = np.random.default_rng(2).uniform(-12, 12, 20_000)
    np.testing.assert_allclose(heads.normal_share(z), ndtr(z), rtol=0, atol=4e-8)


@pytest.mark.parametrize("share", [1e-9, 0.1, 0.5, 0.7, 0.85, 0.999])
def test_normal_quantile_matches_scipy(share: float) -> None:
    """Φ⁻¹ is SciPy's to eleven figures."""
    from scipy.special import ndtri

    assert heads.normal_quantile(share) == pytest.approx(ndtri(share), abs=1e-11)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, float("nan")])
def test_impossible_shares_are_refused(share: float) -> None:
    """No thermal time brings every head or none, so there is no quantile."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        heads.normal_quantile(share)


def test_half_the_heads_are_past_a_stage_at_its_position(
    weeds: dict[str, Weed],
) -> None:
    """By definition, P = Hp + offset leaves half of the heads past the stage."""
    for weed in weeds.values():
        for stage in Stage:
            at = weed.half_headed.value + (
                0.0 if stage is Stage.HEADING else weed.offsets[stage].value
            )
            assert heads.share_past(weed, stage, at) == pytest.approx(0.5)


def test_one_sd_on_is_five_heads_in_six(weeds: dict[str, Weed]) -> None:
    """One SD past the half, 84.13 % are past (A&S table 26.1); δ shifts it."""
    weed = weeds["barley_grass"]
    later = weed.position(Stage.MILK) + weed.spread.value
    assert heads.share_past(weed, Stage.MILK, later) == pytest.approx(0.84134, abs=1e-5)
    delayed = heads.share_past(weed, Stage.MILK, later, shift=weed.spread.value)
    assert delayed == pytest.approx(0.5)
    wide = heads.share_past(weed, Stage.MILK, later, spread_factor=2.0)
    assert wide == pytest.approx(0.69146, abs=1e-5)


def test_threshold_undoes_share_past(weeds: dict[str, Weed]) -> None:
    """At a rule's threshold exactly its share is past the stage."""
    for weed in weeds.values():
        for share in (0.1, 0.2, 0.5, 0.85):
            at = heads.threshold(
                weed, share_rule(Stage.WATERY, share), shift=40.0, spread_factor=1.5
            )
            found = heads.share_past(
                weed, Stage.WATERY, at, shift=40.0, spread_factor=1.5
            )
            assert found == pytest.approx(share, abs=1e-7)


def test_shares_at_stages_add_up(weeds: dict[str, Weed]) -> None:
    """Every head is somewhere: the shares at the stages sum to one."""
    now = np.linspace(0, 2000, 41)
    for weed in weeds.values():
        shares = heads.stage_shares(weed, now)
        assert shares.shape == (41, 8)
        np.testing.assert_allclose(shares.sum(axis=-1), 1.0, atol=1e-12)
        assert (shares >= 0).all()
        assert shares[0, 0] == pytest.approx(1.0, abs=1e-6)
        assert shares[-1, -1] == pytest.approx(1.0, abs=1e-6)


def test_unknown_thermal_time_is_unknown(weeds: dict[str, Weed]) -> None:
    """NaN in, NaN out."""
    assert np.isnan(heads.share_past(weeds["capeweed"], Stage.MILK, np.nan))
    assert np.isnan(heads.stage_shares(weeds["capeweed"], np.nan)).all()


def test_offset_and_position(weeds: dict[str, Weed]) -> None:
    """Heading is where offsets count from."""
    weed = weeds["annual_ryegrass"]
    assert weed.offset(Stage.HEADING) == 0.0
    assert weed.position(Stage.HEADING) == weed.half_headed.value
    assert weed.offset(Stage.MILK) == weed.offsets[Stage.MILK].value
