"""Projected dates against the dates that came, by how long before they were told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.verification.errors import ErrorSummary, error_summary

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats


@dataclass(frozen=True, slots=True)
class DateErrors:
    """Errors of projected dates [d], one value for each step of lead.

    ``errors.bias`` above 0: projected too late.
    """

    edges: Floats
    """(steps + 1,) [d] a step holds its lower edge and not its upper."""
    errors: ErrorSummary
    covered: Floats
    """(steps,) [share] dates that came between early and late; NaN where not told."""


def date_errors(
    projected: Floats,
    happened: Floats,
    lead: Floats,
    edges: Floats,
    *,
    between: tuple[Floats, Floats] | None = None,
) -> DateErrors:
    """Errors of dates projected at different leads.

    Parameters
    ----------
    projected, happened : (n,) arrays
        [d] on one day count. Pairs with a NaN do not count.
    lead : (n,) array
        [d] from the telling to the date that came.
    edges : (steps + 1,) array
        [d] rising steps of lead.
    between : two (n,) arrays, optional
        [d] early and late dates told with ``projected``.

    Raises
    ------
    ValueError
        If there are fewer than two edges or they do not rise.

    Examples
    --------
    >>> found = date_errors(
    ...     np.array([102.0, 99.0]), np.array([100.0, 100.0]),
    ...     np.array([30.0, 5.0]), np.array([0.0, 14.0, 60.0]))
    >>> found.errors.bias.tolist()
    [-1.0, 2.0]
    """
    if edges.size < 2 or np.any(np.diff(edges) <= 0.0):  # noqa: PLR2004 - one step
        raise ValueError(f"edges {edges} are not two or more that rise")
    inside = (lead >= edges[:-1, None]) & (lead < edges[1:, None])
    sorted_out = np.where(inside, projected, np.nan)
    return DateErrors(
        edges=edges,
        errors=error_summary(sorted_out, happened),
        covered=_covered(happened, between, inside),
    )


def _covered(
    happened: Floats, between: tuple[Floats, Floats] | None, inside: Bools
) -> Floats:
    """Share of dates between early and late, for each step."""
    if between is None:
        return np.full(inside.shape[0], np.nan)
    early, late = between
    told = inside & ~np.isnan(early + late + happened)
    within = told & (happened >= early) & (happened <= late)
    count = told.sum(axis=-1)
    return np.where(count > 0, within.sum(axis=-1) / np.maximum(count, 1), np.nan)
