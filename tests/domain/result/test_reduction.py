"""Counts of two strips against general statistics libraries and by simulation."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from scipy import optimize, stats

from forecaster.domain.result.dispersion import dispersion
from forecaster.domain.result.ratio import Sum, drop, limits
from forecaster.domain.result.reduction import Reduction, reduction

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.random import Generator

EXAMPLES = [
    ((3, 0, 2, 1, 4, 0, 7), (41, 38, 12, 77, 20)),
    ((30, 20, 22, 31, 14), (41, 38, 52, 20, 33, 60)),
    ((1, 9, 0, 0), (2, 0, 14, 3, 0, 0, 8)),
    ((55, 2, 90), (3, 1, 0, 9)),
]


def quantile(free: int) -> float:
    """Student's, for 95 %."""
    return float(stats.t.ppf(0.975, free))


def found(treated: Sequence[int], untreated: Sequence[int]) -> Reduction:
    """Of squares of 25 cm."""
    return reduction(treated, untreated, side_cm=25.0, quantile_of=quantile)


def fitted(
    treated: Sequence[int], untreated: Sequence[int], family: Any, ratio: float | None
) -> Any:
    """A log-linear model of statsmodels; with ``ratio`` held by an offset."""
    import statsmodels.api as sm

    sprayed = np.repeat([1.0, 0.0], [len(treated), len(untreated)])
    counts = np.array([*treated, *untreated], dtype=float)
    one = np.ones_like(sprayed)
    if ratio is None:
        return sm.GLM(counts, np.column_stack([one, sprayed]), family=family).fit()
    offset = sprayed * math.log(ratio)
    return sm.GLM(counts, one, family=family, offset=offset).fit()


def family_of(alpha: float) -> Any:
    """Poisson at 0."""
    import statsmodels.api as sm

    if alpha == 0:
        return sm.families.Poisson()
    return sm.families.NegativeBinomial(alpha=alpha)


@pytest.mark.parametrize(("treated", "untreated"), EXAMPLES)
def test_dispersion_makes_pearson_s_statistic_its_degrees_of_freedom(
    treated: tuple[int, ...], untreated: tuple[int, ...]
) -> None:
    """With it statsmodels finds chi² = degrees of freedom (Breslow 1984)."""
    groups = [np.array(treated, dtype=float), np.array(untreated, dtype=float)]
    alpha, free = dispersion(groups)
    fit = fitted(treated, untreated, family_of(alpha), None)
    assert alpha > 0
    assert free == fit.df_resid
    assert fit.pearson_chi2 == pytest.approx(free, rel=1e-6)


@pytest.mark.parametrize(("treated", "untreated"), EXAMPLES)
@pytest.mark.parametrize("alpha", [0.0, 0.3, 2.0])
@pytest.mark.parametrize("ratio", [0.01, 0.2, 1.0, 4.0])
def test_the_drop_in_likelihood_is_that_of_statsmodels(
    treated: tuple[int, ...], untreated: tuple[int, ...], alpha: float, ratio: float
) -> None:
    """Twice the difference of two fitted models, one with the ratio held."""
    free = fitted(treated, untreated, family_of(alpha), None)
    held = fitted(treated, untreated, family_of(alpha), ratio)
    ours = drop(
        Sum(sum(treated), len(treated)),
        Sum(sum(untreated), len(untreated)),
        ratio=ratio,
        alpha=alpha,
    )
    assert ours == pytest.approx(2 * (free.llf - held.llf), rel=1e-5, abs=1e-6)


@pytest.mark.parametrize(("treated", "untreated"), EXAMPLES)
def test_limits_are_where_the_drop_is_the_quantile_squared(
    treated: tuple[int, ...], untreated: tuple[int, ...]
) -> None:
    """By statsmodels' likelihood and SciPy's root finder, and t of SciPy."""
    ours = found(treated, untreated)
    family = family_of(ours.alpha)
    best = fitted(treated, untreated, family, None)
    square = quantile(len(treated) + len(untreated) - 2) ** 2

    def beyond(log: float) -> float:
        held = fitted(treated, untreated, family, math.exp(log))
        return float(2 * (best.llf - held.llf) - square)

    middle = math.log(ours.ratio)
    low = math.exp(optimize.brentq(beyond, middle - 8, middle, xtol=1e-7))
    high = math.exp(optimize.brentq(beyond, middle, middle + 8, xtol=1e-7))
    assert (ours.low, ours.high) == pytest.approx((low, high), rel=1e-4)


def test_plain_counts_agree_with_a_published_worked_example() -> None:
    """136 cases in 22,050 person-years against 1,709 in 127,650.

    Rothman, Epidemiology: An Introduction, Table 9-2 (data of Feychting et al.;
    published, seen in excerpt): ratio 0.46, 90 % limits 0.40 to 0.53. The book takes
    the standard error of the logarithm; with so many cases likelihood agrees.
    """
    over, under = Sum(136, 22_050), Sum(1_709, 127_650)
    ours = limits(over, under, alpha=0.0, quantile=float(stats.norm.ppf(0.95)))
    assert round(over.mean / under.mean, 2) == 0.46
    assert tuple(round(each, 2) for each in ours) == (0.40, 0.53)


def test_quasi_poisson_is_near_where_both_strips_scatter_alike() -> None:
    """A Poisson model with Pearson's scale in statsmodels gives much the same limits.

    The two ways to let counts scatter more agree where the means are near.
    """
    import statsmodels.api as sm

    rng = np.random.default_rng(5)
    one, two = (rng.negative_binomial(4, 4 / (4 + m), 60) for m in (20.0, 24.0))
    sprayed = np.repeat([1.0, 0.0], 60)
    model = sm.GLM(
        np.concatenate([one, two]),
        np.column_stack([np.ones(120), sprayed]),
        family=sm.families.Poisson(),
    ).fit(scale="X2", use_t=True)
    theirs = np.exp(model.conf_int()[1])
    ours = found(one.tolist(), two.tolist())
    assert (ours.low, ours.high) == pytest.approx(tuple(theirs), rel=0.02)


def test_no_seedling_where_it_was_sprayed_has_a_finite_limit() -> None:
    """With plain counts r = squares·(e^(q²/2U) − 1)/squares has a closed form.

    D(r) = 2U·ln(1 + n_t·r/n_u) by hand, so r = (n_u/n_t)·(e^(q²/(2U)) − 1).
    """
    low, high = limits(Sum(0, 6), Sum(30, 10), alpha=0.0, quantile=2.0)
    assert low == 0.0
    assert high == pytest.approx(10 / 6 * (math.exp(4 / 60) - 1), rel=1e-9)
    ours = found([0] * 5, [40, 38, 55, 61, 20])
    assert ours.none_treated
    assert ours.low == 0.0
    assert 0 < ours.high < 0.2
    assert ours.reduced[2] == 1.0
    assert ours.reduced[0] < 1.0


def test_more_squares_without_a_seedling_narrow_it() -> None:
    """Twenty empty squares say more than three."""
    few, many = (found([0] * n, [40, 38, 55, 61, 20]).high for n in (3, 20))
    assert many < few


def test_counts_that_scatter_less_than_chance_count_as_chance() -> None:
    """No over-dispersion below zero."""
    assert dispersion([np.array([5.0, 5, 5]), np.array([9.0, 9, 9])]) == (0.0, 4)


def test_strips_that_tell_nothing_are_unknown() -> None:
    """Nothing untreated: no ratio. One square each: a ratio without limits."""
    nothing = found([3, 1], [0, 0, 0])
    assert math.isnan(nothing.ratio)
    assert not nothing.known
    single = found([2], [40])
    assert single.ratio == pytest.approx(0.05)
    assert math.isnan(single.low)
    assert not single.known
    assert math.isnan(found([0, 0], [40]).high)


def test_plants_a_square_metre_are_sixteen_times_a_square_of_25_cm() -> None:
    """0.25 m × 0.25 m is a sixteenth of a square metre."""
    ours = found([1, 3], [10])
    assert ours.treated.plants_m2 == pytest.approx(32.0)
    assert ours.untreated.plants_m2 == pytest.approx(160.0)
    assert ours.treated.few
    assert not found([1] * 10, [5]).treated.few


def _counts(rng: Generator, mean: float, shape: float, squares: int) -> list[int]:
    clumps = rng.gamma(shape, mean / shape, squares)
    drawn: list[int] = rng.poisson(clumps).tolist()
    return drawn


@pytest.mark.parametrize(
    ("mean", "ratio", "shape", "squares"),
    [
        (40.0, 0.05, 2.0, 10),
        (40.0, 0.24, 1.0, 10),
        (10.0, 0.05, 2.0, 5),
        (20.0, 0.02, 5.0, 20),
        (40.0, 0.5, 0.7, 10),
    ],
)
def test_limits_hold_the_truth_about_as_often_as_they_say(
    mean: float, ratio: float, shape: float, squares: int
) -> None:
    """Of 300 invented pairs of clumped strips 95 % should; three errors are allowed.

    Three standard errors of 300 draws are 3.8 %; limits known to be a little short in
    the most clumped strips are allowed two per cent more. Wider ones are safe.
    """
    rng = np.random.default_rng(20261012)
    hits = 0
    for _ in range(300):
        treated = _counts(rng, mean * ratio, shape, squares)
        ours = found(treated, _counts(rng, mean, shape, squares))
        hits += ours.low <= ratio <= ours.high
    assert hits / 300 >= 0.95 - 0.038 - 0.02
