"""What a look says of weeds and paddocks that were not looked at."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.growth.scouting import Count, Prior, update
from forecaster.domain.growth.sharing import (
    Kin,
    Site,
    told_by_the_rest,
    told_elsewhere,
)
from forecaster.domain.growth.stage import Stage
from forecaster.service.scouted import ROUNDS

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Weed

H = Stage.HEADING


def test_the_conjugate_case_by_hand() -> None:
    """A prior N(0, 115²) and one measurement of 70.5 ± 30 °C d give 66.0 ± 29.0.

    The normal-normal formulas (any textbook): 70.5 · 115²/(115² + 30²) and
    115 · 30/√(115² + 30²). 70.5 = 600 + 0.8416 · 60 − 580: a fifth of the heads out
    at 600 °C d where 580 was expected, spread 60.
    """
    away = 600 - stats.norm.ppf(0.2) * 60 - 580
    assert away == pytest.approx(70.5, abs=0.01)
    one = np.array([[115.0**2]])
    mean, sd = told_elsewhere(
        one, np.array([115.0]), one, np.array([away]), np.array([30.0])
    )
    assert mean.item() == pytest.approx(66.0, abs=0.05)
    assert sd.item() == pytest.approx(29.0, abs=0.05)


def test_another_weed_moves_a_third_as_far() -> None:
    """A shared part of 70 and own parts of 90 °C d: 70.5 moves the other by 24.9.

    Regression: 70²/(70² + 90² + 30²) = 0.3525; its own SD falls from 114 to 106.
    """
    sd = float(np.hypot(70, 90))
    pair = Kin(np.array(["a"]), np.array(["ryegrass"]), np.array([sd]))
    seen = Kin(np.array(["a"]), np.array(["barley"]), np.array([sd]))
    shared = {"same_paddock": 70**2 / sd**2, "same_weed": 0.5}
    mean, after = told_elsewhere(
        pair.covariance(seen, **shared), pair.sd, seen.covariance(seen, **shared),
        np.array([70.5]), np.array([30.0]),
    )  # fmt: skip
    assert mean.item() == pytest.approx(0.3525 * 70.5, abs=0.02)
    assert sd == pytest.approx(114, abs=0.1)
    assert after.item() == pytest.approx(106, abs=0.2)


def test_leave_one_out_against_plain_regression() -> None:
    """Each pair's prediction is that of the others alone, worked out one by one."""
    random = np.random.default_rng(2)
    kin = Kin(
        np.array(["a", "a", "b", "b", "c"]),
        np.array(["w", "v", "w", "v", "w"]),
        random.uniform(80, 150, 5),
    )
    covariance = kin.covariance(kin, same_paddock=0.377, same_weed=0.5)
    assert (np.linalg.eigvalsh(covariance) > 0).all()
    away, error = random.normal(0, 80, 5), random.uniform(20, 60, 5)
    mean, sd = told_by_the_rest(covariance, away, error)
    for place in range(5):
        rest = np.arange(5) != place
        expected = told_elsewhere(
            covariance[[place]][:, rest], kin.sd[[place]],
            covariance[np.ix_(rest, rest)], away[rest], error[rest],
        )  # fmt: skip
        assert mean[place] == pytest.approx(expected[0].item())
        assert sd[place] == pytest.approx(expected[1].item())


def exact(
    weeds: tuple[Weed, Weed], counts: tuple[Count, Count], covariance: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Means and SDs of both δ by brute force over a square of 1,201² points."""
    axes = [np.linspace(-9, 9, 1201) * covariance[at, at] ** 0.5 for at in (0, 1)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    log = stats.multivariate_normal([0, 0], covariance).logpdf(grid)
    for at, (weed, count) in enumerate(zip(weeds, counts, strict=True)):
        middle = weed.half_headed.value + grid[..., at]
        share = stats.norm.cdf(count.thermal_time, middle, weed.spread.value)
        log += stats.binom.logpmf(count.heads[1], sum(count.heads), share)
    weight = np.exp(log - log.max())[..., None]
    mean = (weight * grid).sum((0, 1)) / weight.sum()
    return mean, np.sqrt((weight * (grid - mean) ** 2).sum((0, 1)) / weight.sum())


@pytest.mark.parametrize(
    "counts",
    [
        (Count(700.0, (H,), (24, 6)), Count(800.0, (H,), (30, 0))),
        (Count(700.0, (H,), (5, 1)), Count(900.0, (H,), (3, 4))),
        (Count(700.0, (H,), (0, 30)), Count(900.0, (H,), (30, 0))),
        (Count(700.0, (H,), (0, 10)), Count(700.0, (H,), (0, 10))),
    ],
)
def test_two_looks_against_brute_force(
    weeds: dict[str, Weed], counts: tuple[Count, Count]
) -> None:
    """Two looks at two weeds of a paddock: within 0.5 % of an SD of the exact."""
    both = (weeds["barley_grass"], weeds["annual_ryegrass"])
    kin = Kin(
        np.array(["a", "a"]),
        np.array([each.id for each in both]),
        np.array([each.prior_sd.value for each in both]),
    )
    covariance = kin.covariance(kin, same_paddock=0.377, same_weed=0.5)
    first = [Prior(each) for each in both]
    others = first
    for _ in range(ROUNDS):
        known = [
            update(each, [count]) for each, count in zip(others, counts, strict=True)
        ]
        sites = [
            Site.between(
                (before.shift_mean, before.sd),
                (float(after.mean[0]), float(after.covariance[0, 0] ** 0.5)),
                floor=0.0,
            )
            for before, after in zip(others, known, strict=True)
        ]
        rest = told_by_the_rest(
            covariance,
            np.array([each.away for each in sites]),
            np.array([each.sd for each in sites]),
        )
        others = [
            replace(each, shift_mean=float(away), shift_sd=float(sd))
            for each, away, sd in zip(first, *rest, strict=True)
        ]
    found = [update(each, [count]) for each, count in zip(others, counts, strict=True)]
    mean, sd = exact(both, counts, covariance)
    for at, each in enumerate(found):
        assert each.mean[0] == pytest.approx(mean[at], abs=0.005 * sd[at])
        assert each.covariance[0, 0] ** 0.5 == pytest.approx(sd[at], rel=0.005)


def test_a_look_that_told_nothing_moves_nothing() -> None:
    """The same normal before and after is a measurement without weight."""
    site = Site.between((10.0, 50.0), (10.0, 50.0), floor=30.0)
    assert site.sd > 1e4
    one = np.array([[115.0**2]])
    mean, sd = told_elsewhere(
        one, np.array([115.0]), one, np.array([site.away]), np.array([site.sd])
    )
    assert mean.item() == pytest.approx(0.0, abs=0.1)
    assert sd.item() == pytest.approx(115.0, rel=1e-3)
