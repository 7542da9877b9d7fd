"""Counted heads: against quadrature, an independent sampler, and themselves."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import integrate, special, stats
from scipy.stats import qmc

from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.heads import share_past
from forecaster.domain.growth.look import Look
from forecaster.domain.growth.scouting import Count, Prior, update
from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.growth.scouting import Estimate
    from forecaster.domain.growth.weed import Weed

H, F, W, M = Stage.HEADING, Stage.FLOWERING, Stage.WATERY, Stage.MILK


def sd_of(estimate: Estimate) -> list[float]:
    """Standard deviations of δ, ε and f."""
    found: list[float] = np.sqrt(np.diagonal(estimate.covariance)).tolist()
    return found


def quadrature(weed: Weed, at: float, out: int, of: int) -> tuple[float, float]:
    """δ after ``out`` of ``of`` heads at thermal time ``at``, by scipy's quad."""

    def density(shift: float) -> float:
        share = stats.norm.cdf((at - weed.half_headed.value - shift) / 60.0)
        return float(stats.binom.pmf(out, of, share) * stats.norm.pdf(shift, 0, 115))

    def moment(power: int) -> float:
        edges = (-900.0, 900.0)
        found, _ = integrate.quad(
            lambda shift: shift**power * density(shift), *edges, limit=400, epsabs=0
        )
        return float(found)

    total, first, second = (moment(power) for power in range(3))
    mean = first / total
    return mean, (second / total - mean**2) ** 0.5


@pytest.mark.parametrize(
    ("out", "of"), [(6, 30), (2, 10), (10, 50), (0, 30), (30, 30), (38, 50), (1, 3)]
)
def test_one_boundary_against_scipy_quadrature(
    weeds: dict[str, Weed], out: int, of: int
) -> None:
    """Mean and SD of δ agree with scipy.integrate.quad within 1 % of the SD."""
    weed = weeds["barley_grass"]
    found = update(Prior(weed), [Count(680.0, (H,), (of - out, out))])
    mean, sd = quadrature(weed, 680.0, out, of)
    assert found.mean[0] == pytest.approx(mean, abs=0.01 * sd)
    assert sd_of(found)[0] == pytest.approx(sd, rel=0.01)


@pytest.mark.parametrize(
    ("out", "of", "mean", "sd"),
    [
        (6, 30, 70.0, 15.6),
        (2, 10, 69.1, 26.5),
        (10, 50, 70.2, 12.1),
        (0, 30, 188.6, 53.9),
        (30, 30, -158.1, 58.4),
    ],
)
def test_one_boundary_against_another_grid(
    weeds: dict[str, Weed], out: int, of: int, mean: float, sd: float
) -> None:
    """A grid worked out before this program: 20 °C d past the middle, SD 60, prior 115.

    An independent calculation, no published source; all heads in or all out still say
    something.
    """
    weed = weeds["barley_grass"]
    assert (weed.spread.value, weed.prior_sd.value) == (60.0, 115.0)
    at = weed.half_headed.value + 20.0
    found = update(Prior(weed), [Count(at, (H,), (of - out, out))])
    assert found.mean[0] == pytest.approx(mean, abs=0.1)
    assert sd_of(found)[0] == pytest.approx(sd, abs=0.1)


def sampled(
    prior: Prior, counts: Sequence[Count]
) -> tuple[np.ndarray, np.ndarray, float]:
    """The same by importance sampling: scipy's Sobol points and normal."""
    weed = prior.weed
    points = stats.norm.ppf(qmc.Sobol(3, scramble=True, seed=11).random_base2(20))
    shift = prior.shift_mean + points[:, 0] * prior.sd
    phase = points[:, 1] * weed.phase_sd.value
    spread = prior.spread * np.exp(points[:, 2] * prior.spread_sd)
    log = np.zeros(shift.size)
    for count in counts:
        past = [np.ones_like(shift)]
        for stage in count.boundaries:
            offset = weed.offset(stage)
            middle = weed.half_headed.value + offset * (1 + phase) + shift
            scale = weed.spread.value * prior.late_factor * spread
            past.append(stats.norm.cdf(count.thermal_time, middle, scale))
        past.append(np.zeros_like(shift))
        shares = -np.diff(np.stack(past, axis=-1), axis=-1)
        log += special.xlogy(np.array(count.heads), shares.clip(1e-300)).sum(axis=-1)
    weights = np.exp(log - log.max())
    draws = np.stack([shift, phase, spread])
    mean = np.average(draws, axis=1, weights=weights)
    cov = np.cov(draws, aweights=weights, bias=True)
    return mean, cov, float(np.average(spread > 1.4, weights=weights))


@pytest.mark.parametrize(
    "counts",
    [
        pytest.param([Count(750.0, (H, M), (30, 35, 35))], id="uneven"),
        pytest.param([Count(720.0, (H,), (9, 21))], id="one boundary"),
        pytest.param(
            [Count(640.0, (H,), (22, 8)), Count(790.0, (H, W, M), (2, 10, 10, 8))],
            id="two looks",
        ),
        pytest.param([Count(900.0, (H, F, W, M), (0, 1, 2, 9, 18))], id="late"),
    ],
)
def test_three_unknowns_against_a_sampler(
    weeds: dict[str, Weed], counts: list[Count]
) -> None:
    """Means and covariances of (δ, ε, f) agree within 1 % of an SD with a sampler."""
    prior = Prior(weeds["barley_grass"], shift_mean=20.0, spread_sd=0.35)
    found = update(prior, counts)
    mean, covariance, wider = sampled(prior, counts)
    sd = np.sqrt(np.diagonal(covariance))
    np.testing.assert_allclose(found.mean / sd, mean / sd, atol=0.01)
    np.testing.assert_allclose(sd_of(found), sd, rtol=0.01)
    np.testing.assert_allclose(
        found.covariance / np.outer(sd, sd), covariance / np.outer(sd, sd), atol=0.015
    )
    assert found.chance_wider(1.4) == pytest.approx(wider, abs=0.02)


def drawn(
    prior: Prior, boundaries: tuple[Stage, ...], seed: int
) -> tuple[Count, float, float]:
    """Heads of a paddock drawn from the prior, its δ and its ln f."""
    random = np.random.default_rng(seed)
    weed = prior.weed
    shift = prior.shift_mean + random.normal(0, prior.sd)
    phase = random.normal(0, weed.phase_sd.value)
    spread = np.log(prior.spread) + random.normal(0, prior.spread_sd)
    at = random.uniform(600, 800)
    own = random.normal(0, weed.spread.value * np.exp(spread), 30)
    passed = np.stack(
        [
            at > weed.half_headed.value + weed.offset(stage) * (1 + phase) + shift + own
            for stage in boundaries
        ]
    ).sum(axis=0)
    heads = tuple(np.bincount(passed, minlength=len(boundaries) + 1).tolist())
    return Count(at, boundaries, heads), shift, spread


@pytest.mark.parametrize(("trust", "draws"), [(1.0, 400), (0.4, 250)])
def test_simulation_based_calibration(
    weeds: dict[str, Weed], trust: float, draws: int
) -> None:
    """Truths drawn from the prior fall evenly into what is believed after a look.

    Talts, Betancourt, Simpson, Vehtari & Gelman 2018 (arXiv 1804.06788): the ranks
    are uniform, by a χ² test. A prior that trusts itself too much fails it.
    """
    prior = Prior(weeds["barley_grass"], spread_sd=0.35)
    told = replace(prior, shift_sd=trust * prior.sd, spread_sd=trust * 0.35)
    ranks = []
    for seed in range(draws):
        count, shift, spread = drawn(prior, (H, W, M), seed)
        found = update(told, [count])
        ranks.append((found.shift.below(shift), found.log_spread.below(spread)))
    for each in np.array(ranks).T:
        counts, _ = np.histogram(each, bins=10, range=(0, 1))
        flat = stats.chisquare(counts).pvalue
        assert flat > 0.01 if trust == 1.0 else flat < 1e-4


def test_looks_multiply_in_any_order(weeds: dict[str, Weed]) -> None:
    """Two looks one after the other are the two together, whichever came first."""
    prior = Prior(weeds["brome_grass"], spread_sd=0.35)
    first = Count(800.0, (H,), (25, 5))
    second = Count(930.0, (H, M), (3, 20, 7))
    there, back = update(prior, [first, second]), update(prior, [second, first])
    np.testing.assert_allclose(there.mean, back.mean, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(there.covariance, back.covariance, rtol=1e-9, atol=1e-12)


def test_without_a_look_nothing_changes(weeds: dict[str, Weed]) -> None:
    """No counts, and counts of no heads, give the prior back."""
    prior = Prior(weeds["capeweed"], shift_mean=-15.0, spread=1.2, spread_sd=0.3)
    for counts in ([], [Count(500.0, (H, M), (0, 0, 0))]):
        found = update(prior, counts)
        assert found.mean[:2] == pytest.approx([-15.0, 0.0], abs=1e-9)
        # The mean of a lognormal of median 1.2 and log-SD 0.3.
        assert found.mean[2] == pytest.approx(1.2 * np.exp(0.045), rel=1e-3)
        assert sd_of(found)[:2] == pytest.approx([140.0, 0.20], rel=1e-3)
        assert found.log_spread.below(np.log(1.2)) == pytest.approx(0.5, abs=1e-6)


def test_more_heads_narrow_it(weeds: dict[str, Weed]) -> None:
    """Ten times the heads at the same shares leave a smaller error."""
    prior = Prior(weeds["silver_grass"], spread_sd=0.35)
    errors = [
        sd_of(update(prior, [Count(870.0, (H,), (2 * many, 3 * many))]))[0]
        for many in (1, 2, 4, 40)
    ]
    assert errors == sorted(errors, reverse=True)


def test_stages_in_one_place_are_not_told_apart(weeds: dict[str, Weed]) -> None:
    """Silver grass flowers inside its sheath: heading and flowering are one class."""
    weed = weeds["silver_grass"]
    assert weed.offset(F) == 0
    look = Look(
        id="a", paddock="Creek Flat", weed=weed.id, moment=np.datetime64(0, "s"),
        counts=((None, 40), (H, 25), (F, 35), (W, 2)),
    )  # fmt: skip
    count = Count.of(look, weed, 860.0)
    assert count == Count(860.0, (H, W), (40, 60, 2))


def test_a_look_nobody_would_believe_is_still_finite(weeds: dict[str, Weed]) -> None:
    """All heads ripe far too early move δ far and leave finite numbers."""
    found = update(
        Prior(weeds["barley_grass"], spread_sd=0.35),
        [Count(150.0, (H, Stage.HARD_DOUGH), (0, 0, 200))],
    )
    assert np.isfinite(found.mean).all()
    assert np.isfinite(found.covariance).all()
    assert found.mean[0] < -3 * 115


def test_the_belief_is_what_the_shares_say(weeds: dict[str, Weed]) -> None:
    """The thermal time of a share, from the belief, is that of the drawn paddocks.

    Monte Carlo over (δ, ε, f) with NumPy's own generator; 200,000 draws know a mean
    to 0.3 % of an SD and an SD to 0.2 %.
    """
    weed = weeds["barley_grass"]
    found = update(
        Prior(weed, spread_sd=0.35), [Count(790.0, (H, W, M), (2, 10, 10, 8))]
    )
    belief = Belief(found.mean[None], found.covariance[None])
    draws = np.random.default_rng(5).multivariate_normal(
        found.mean, found.covariance, 200_000
    )
    z = stats.norm.ppf(0.2)
    offset, sd = weed.offset(M), weed.spread.value
    reached = draws @ np.array([1.0, offset, sd * z])
    mean, error = belief.reach(offset, sd * z)
    assert mean.item() == pytest.approx(reached.mean(), abs=0.01 * reached.std())
    assert error.item() == pytest.approx(reached.std(), rel=0.01)
    # And at that thermal time the share is 20 %, all three at their means.
    at = weed.position(M) + mean.item()
    shift = found.mean[0] + offset * found.mean[1]
    share = share_past(weed, M, at, shift=shift, spread_factor=found.mean[2])
    assert float(share) == pytest.approx(0.2, abs=1e-6)


def test_the_floor_holds(weeds: dict[str, Weed]) -> None:
    """However many heads, no stage is known better than the floor."""
    found = update(Prior(weeds["barley_grass"]), [Count(680.0, (H,), (4000, 6000))])
    assert sd_of(found)[0] < 5
    belief = Belief(found.mean[None], found.covariance[None], floor=30.0)
    assert belief.reach(0.0)[1].item() == 30.0
    assert belief.reach(450.0)[1].item() > 30.0
