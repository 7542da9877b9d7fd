"""Looks shared: what heads counted in one place say of those not counted.

The shifts δ of a farm's weeds and paddocks are taken as jointly normal before any look.
The correlation of two of them is that of two weeds of one paddock, that of two paddocks
with one weed, or the product of both. Each look enters by what it told of its own δ,
as if it were one measurement with an error; given that, the rest is regression.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.weather import Floats

_LEAST_PRECISION = 1e-9
"""[1/(°C d)²] of a look that told nothing."""


@dataclass(frozen=True, slots=True)
class Site:
    """A look as one measurement of δ less what was expected."""

    away: float
    """[°C d]"""
    sd: float
    """Its error. [°C d]"""

    @classmethod
    def between(
        cls,
        before: tuple[float, float],
        after: tuple[float, float],
        *,
        floor: float,
    ) -> Site:
        """The measurement that moves one normal to another (mean, sd).

        Parameters
        ----------
        before, after : (mean, sd)
            Of δ less what was expected. [°C d]
        floor : float
            The smallest error a look is granted. [°C d]
        """
        told = 1.0 / after[1] ** 2 - 1.0 / before[1] ** 2
        precision = max(told, _LEAST_PRECISION)
        away = (after[0] / after[1] ** 2 - before[0] / before[1] ** 2) / precision
        return cls(away, max(precision**-0.5, floor))


@dataclass(frozen=True, slots=True)
class Kin:
    """Pairs of a paddock and a weed, and how uncertain each one's δ is."""

    paddock: npt.NDArray[np.str_]
    """(n,) which paddock."""
    weed: npt.NDArray[np.str_]
    """(n,) which weed."""
    sd: Floats
    """(n,) standard deviation of δ before any look. [°C d]"""

    def covariance(
        self, other: Kin, *, same_paddock: float, same_weed: float
    ) -> Floats:
        """Covariance of δ before any look with that of other pairs.

        Parameters
        ----------
        other : Kin
            (m) pairs.
        same_paddock, same_weed : float
            Correlation of two weeds of one paddock, and of one weed in two paddocks;
            with neither in common it is their product.

        Returns
        -------
        (n, m) array
            [(°C d)²] With itself positive semidefinite: rows and columns of a
            Kronecker product.
        """
        by_paddock = np.where(
            self.paddock[:, None] == other.paddock[None, :], 1.0, same_weed
        )
        by_weed = np.where(self.weed[:, None] == other.weed[None, :], 1.0, same_paddock)
        both: Floats = by_paddock * by_weed * self.sd[:, None] * other.sd[None, :]
        return both


def told_by_the_rest(
    covariance: Floats, away: Floats, error: Floats
) -> tuple[Floats, Floats]:
    """δ of each pair that was looked at, given the looks at all the others.

    Parameters
    ----------
    covariance : (k, k) array
        Of δ before any look. [(°C d)²]
    away, error : (k,) array
        What each look measured, and its standard error. [°C d]

    Returns
    -------
    two (k,) arrays
        Mean and standard deviation [°C d], less what was expected before.

    Notes
    -----
    The leave-one-out predictions of a Gaussian process: Rasmussen & Williams 2006,
    Gaussian Processes for Machine Learning, §5.4.2 (from memory).
    """
    inverse = np.linalg.inv(covariance + np.diag(error**2))
    alone = np.diagonal(inverse)
    mean = away - (inverse @ away) / alone
    return mean, np.sqrt(np.maximum(1.0 / alone - error**2, 0.0))


def told_elsewhere(
    across: Floats, sd: Floats, covariance: Floats, away: Floats, error: Floats
) -> tuple[Floats, Floats]:
    """δ of pairs nobody looked at, given all looks.

    Parameters
    ----------
    across : (m, k) array
        Their covariance with the pairs looked at. [(°C d)²]
    sd : (m,) array
        Their standard deviation before any look. [°C d]
    covariance, away, error
        As in :func:`told_by_the_rest`.

    Returns
    -------
    two (m,) arrays
        Mean and standard deviation [°C d], less what was expected before.
    """
    weight = np.linalg.solve(covariance + np.diag(error**2), across.T).T
    variance = sd**2 - (weight * across).sum(axis=1)
    return weight @ away, np.sqrt(np.maximum(variance, 0.0))
