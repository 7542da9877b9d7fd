"""How a paddock may differ from the weed's own numbers, and how surely.

Three things are not known of the heads of one paddock:

    δ   how much later than the weed's own value they come      [°C d]
    ε   how much longer each phase after heading lasts          [share of it]
    f   how much wider they are spread                          [factor on SD]

so the thermal time at which the share Φ(z) of them is past a stage is

    Hp + offset + δ + ε · offset + f · SD · z

which is a straight line in (δ, ε, f): its mean and variance follow from theirs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.weather import Floats

UNKNOWNS = 3
"""δ, ε and f."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Mean and covariance of (δ, ε, f) in each paddock."""

    mean: Floats
    """(paddocks, 3)"""
    covariance: Floats
    """(paddocks, 3, 3)"""
    floor: float = 0.0
    """[°C d] no stage is held to be known better than this (standard deviation)."""

    @classmethod
    def prior(
        cls,
        weed: Weed,
        paddocks: int,
        *,
        shift_mean: npt.ArrayLike = 0.0,
        shift_sd: npt.ArrayLike | None = None,
        spread: npt.ArrayLike = 1.0,
    ) -> Self:
        """What is believed before anyone has looked.

        Parameters
        ----------
        weed : Weed
            Gives the standard deviations of δ (``prior_sd``) and ε (``phase_sd``).
        paddocks : int
            How many.
        shift_mean, shift_sd, spread : float or (paddocks,) array
            δ expected [°C d], its standard deviation [°C d] and f [factor].
        """
        sd = weed.prior_sd.value if shift_sd is None else shift_sd
        mean = np.zeros((paddocks, UNKNOWNS))
        mean[:, 0] = np.asarray(shift_mean, dtype=np.float64)
        mean[:, 2] = np.asarray(spread, dtype=np.float64)
        covariance = np.zeros((paddocks, UNKNOWNS, UNKNOWNS))
        covariance[:, 0, 0] = np.asarray(sd, dtype=np.float64) ** 2
        covariance[:, 1, 1] = weed.phase_sd.value**2
        return cls(mean, covariance)

    def reach(self, offset: float, lever: npt.ArrayLike = 0.0) -> tuple[Floats, Floats]:
        """Mean and standard deviation of δ + ε · offset + f · lever.

        Parameters
        ----------
        offset : float
            From heading to the stage. [°C d]
        lever : (paddocks, n) or broadcastable array
            SD · z of the share asked for; 0 for the middle of the heads. [°C d]

        Returns
        -------
        two (paddocks, n) arrays
            [°C d]
        """
        reach = np.atleast_2d(np.asarray(lever, dtype=np.float64))
        one = np.ones((self.mean.shape[0], reach.shape[-1]))
        line = np.stack([one, one * offset, one * reach], axis=-1)
        mean = np.einsum("pnk,pk->pn", line, self.mean)
        variance = np.einsum("pnj,pjk,pnk->pn", line, self.covariance, line)
        sd = np.sqrt(np.maximum(variance, 0.0))
        return mean, np.maximum(sd, self.floor)
