"""What counted heads say of a paddock: a multinomial probit, worked out on a grid.

A look counts heads between stages k1 < k2 < … . With the thermal time P at the look,
the share of heads past stage k is (see :mod:`forecaster.domain.growth.belief`)

    Φ((P − Hp − offset_k · (1 + ε) − δ) / (SD · f))

so the counts are multinomial with the differences of these shares. Before the look
δ and ε are normal and f is lognormal; after it their joint distribution is the product,
normalised by summing over a grid that is laid anew around what the last one found. No
sampling, no approximation but the grid's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from forecaster.domain.growth.heads import normal_quantile, normal_share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.growth.look import Look
    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.weather import Floats

_NODES = ((33, 9, 9), (65, 13, 13), (129, 17, 17))
"""Grid lines for δ, ε and ln f, of each grid."""
_FIRST = (8.0, 5.0, 5.0)
"""Half-width of the first grid, in standard deviations before the look."""
_LATER = 6.0
"""Half-width of the next ones, in standard deviations after it."""
_LEAST_SHARE = 1e-12
"""A class of heads that the model holds impossible still gets this share."""


@dataclass(frozen=True, slots=True)
class Prior:
    """One weed in one paddock before its looks."""

    weed: Weed
    shift_mean: float = 0.0
    """δ expected. [°C d]"""
    shift_sd: float | None = None
    """Its standard deviation; None: the weed's ``prior_sd``. [°C d]"""
    spread: float = 1.0
    """Median of f. [factor]"""
    spread_sd: float = 0.0
    """Standard deviation of ln f."""
    late_factor: float = 1.0
    """On SD where the weed emerged after midwinter. [factor]"""

    @property
    def sd(self) -> float:
        """Standard deviation of δ, in °C d."""
        return self.weed.prior_sd.value if self.shift_sd is None else self.shift_sd


@dataclass(frozen=True, slots=True)
class Count:
    """Heads counted at one thermal time, before, between and past boundaries."""

    thermal_time: float
    """P at the look. [°C d]"""
    boundaries: tuple[Stage, ...]
    heads: tuple[int, ...]
    """One more than there are boundaries."""

    @classmethod
    def of(cls, look: Look, weed: Weed, thermal_time: float) -> Count:
        """The counts of a look that ``weed`` allows to be told apart.

        Where the weed gives two stages one place (silver grass keeps its anthers in,
        so heading and flowering are one), their heads are added up.
        """
        boundaries: list[Stage] = []
        heads = [look.between[0]]
        for stage, count in zip(look.boundaries, look.between[1:], strict=True):
            if boundaries and weed.offset(stage) <= weed.offset(boundaries[-1]):
                heads[-1] += count
            else:
                boundaries.append(stage)
                heads.append(count)
        return cls(thermal_time, tuple(boundaries), tuple(heads))


class Marginal(NamedTuple):
    """One unknown's distribution on the lines of the grid."""

    nodes: Floats
    weights: Floats
    """They sum to 1."""

    def below(self, value: float) -> float:
        """Chance of a value below ``value``.

        Between the lines of the grid Φ⁻¹ of the chance is drawn straight, which it
        is for a normal one.
        """
        between = 0.5 * (self.nodes[1:] + self.nodes[:-1])
        chance = np.clip(np.cumsum(self.weights)[:-1], _LEAST_SHARE, 1 - _LEAST_SHARE)
        at = int(np.clip(np.searchsorted(between, value), 1, between.size - 1))
        low, high = (normal_quantile(float(chance[each])) for each in (at - 1, at))
        part = (value - between[at - 1]) / (between[at] - between[at - 1])
        return float(normal_share(low + part * (high - low)))


@dataclass(frozen=True, slots=True)
class Estimate:
    """(δ, ε, f) of one weed in one paddock after its looks."""

    mean: Floats
    """(3,)"""
    covariance: Floats
    """(3, 3)"""
    shift: Marginal
    """δ [°C d]"""
    log_spread: Marginal
    """ln f"""

    def chance_wider(self, factor: float) -> float:
        """Chance that the heads are spread more than ``factor`` times the weed's SD."""
        return 1.0 - self.log_spread.below(float(np.log(factor)))


def update(prior: Prior, counts: Sequence[Count]) -> Estimate:
    """What is believed after ``counts``; without any, the prior itself.

    Parameters
    ----------
    prior : Prior
        Before the first of them.
    counts : sequence of Count
        All looks of one season, in any order: their likelihoods multiply.

    Returns
    -------
    Estimate
    """
    first = _axes(
        (prior.shift_mean, 0.0, float(np.log(prior.spread))),
        (prior.sd, prior.weed.phase_sd.value, prior.spread_sd),
    )
    axes = first
    weights = _weights(prior, counts, axes)
    for lines in _NODES[1:]:
        axes = tuple(
            _narrowed(axis, _along(weights, place), whole, lines[place])
            for place, (axis, whole) in enumerate(zip(axes, first, strict=True))
        )
        weights = _weights(prior, counts, axes)
    return _estimate(axes, weights)


def log_likelihood(
    prior: Prior, counts: Sequence[Count], shift: Floats, phase: Floats, spread: Floats
) -> Floats:
    """Log-likelihood of counts, but for a constant, on broadcast (δ, ε, f)."""
    weed = prior.weed
    width = weed.spread.value * prior.late_factor * spread
    total: Floats = np.zeros(())
    for count in counts:
        before: Floats = np.ones(())
        for stage, heads in zip((*count.boundaries, None), count.heads, strict=True):
            past: Floats = np.zeros(())
            if stage is not None:
                offset = weed.offset(stage)
                # Heading does not wait for a phase: an axis less to work out.
                middle = shift + weed.position(stage) + (offset and offset * phase)
                past = normal_share((count.thermal_time - middle) / width)
            if heads:
                share = np.maximum(before - past, _LEAST_SHARE)
                total = total + heads * np.log(share)
            before = past
    return total


def _weights(prior: Prior, counts: Sequence[Count], axes: tuple[Floats, ...]) -> Floats:
    shift, phase, log_spread = np.ix_(*axes)
    log = log_likelihood(prior, counts, shift, phase, np.exp(log_spread))
    log = log - 0.5 * _squared(shift - prior.shift_mean, prior.sd)
    log = log - 0.5 * _squared(phase, prior.weed.phase_sd.value)
    log = log - 0.5 * _squared(log_spread - np.log(prior.spread), prior.spread_sd)
    weights = np.exp(log - log.max())
    total: Floats = weights / weights.sum()
    return total


def _squared(away: Floats, sd: float) -> Floats:
    return (away / sd) ** 2 if sd > 0 else np.zeros_like(away)


def _axes(middles: tuple[float, ...], sds: tuple[float, ...]) -> tuple[Floats, ...]:
    """Even lines about each middle; one line where nothing is uncertain."""
    return tuple(
        np.linspace(middle - width * sd, middle + width * sd, lines if sd > 0 else 1)
        for middle, sd, width, lines in zip(
            middles, sds, _FIRST, _NODES[0], strict=True
        )
    )


def _narrowed(axis: Floats, weights: Floats, whole: Floats, lines: int) -> Floats:
    """The axis laid again about what it found, inside its first bounds."""
    if axis.size == 1:
        return axis
    middle = float(axis @ weights)
    sd = max(float(((axis - middle) ** 2) @ weights) ** 0.5, axis[1] - axis[0])
    low = max(middle - _LATER * sd, whole[0])
    high = min(middle + _LATER * sd, whole[-1])
    return np.linspace(low, high, lines)


def _along(weights: Floats, place: int) -> Floats:
    others = tuple(axis for axis in range(weights.ndim) if axis != place)
    total: Floats = weights.sum(axis=others)
    return total


def _estimate(axes: tuple[Floats, ...], weights: Floats) -> Estimate:
    values = (axes[0], axes[1], np.exp(axes[2]))
    sums = [_along(weights, place) for place in range(len(axes))]
    mean = np.array([value @ each for value, each in zip(values, sums, strict=True)])
    away = [value - middle for value, middle in zip(values, mean, strict=True)]
    covariance = np.empty((len(axes), len(axes)))
    for row in range(len(axes)):
        for column in range(row, len(axes)):
            both = np.einsum(
                "abc,a,b,c->", weights,
                *(_factor(away, place, row, column) for place in range(len(axes))),
            )  # fmt: skip
            covariance[row, column] = covariance[column, row] = both
    return Estimate(
        mean, covariance, Marginal(axes[0], sums[0]), Marginal(axes[2], sums[2])
    )


def _factor(away: list[Floats], place: int, row: int, column: int) -> Floats:
    """What the grid's axis ``place`` puts into the product of two deviations."""
    power = int(place == row) + int(place == column)
    factor: Floats = away[place] ** power
    return factor
