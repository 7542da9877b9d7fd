"""Each hour against each limit: verdict, binding limit, margin and reason.

An hour is as good as its worst limit: hold before unknown before look first
before good. Nothing here knows what a limit measures, so a new limit needs no
code.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from forecaster.domain.spraying.limits import Limit, Side, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.weather import Codes, Floats, Times


class Why(IntEnum):
    """How one limit stands in one hour."""

    INSIDE = 0
    """The hour is inside this limit, or the limit is passed over."""
    OUTSIDE = 1
    """The hour is outside this limit."""
    UNCONFIRMED = 2
    """A label number nobody has typed and confirmed."""
    MISSING = 3
    """The quantity is not known for this hour."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One limit in one hour; ``value`` and ``margin`` are NaN where not known."""

    limit: Limit
    why: Why
    value: float
    margin: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """Hours judged against limits; the last axis is hours, the limit axis before it.

    ``values``, ``margins`` and ``why`` have shape (…, limits, hours), the first two
    in the unit of each limit, positive margins inside. ``verdict`` and ``binding``
    (index into ``limits``) have shape (…, hours).
    """

    time: Times
    limits: tuple[Limit, ...]
    values: Floats
    margins: Floats
    why: Codes
    verdict: Codes
    binding: Codes

    def reason(self, limit: int, hour: int) -> Reason:
        """How limit number ``limit`` stands in one hour of a (limits, hours) table."""
        return Reason(
            self.limits[limit],
            Why(int(self.why[limit, hour])),
            float(self.values[limit, hour]),
            float(self.margins[limit, hour]),
        )

    def binding_reason(self, hour: int) -> Reason:
        """The limit that decides one hour."""
        return self.reason(int(self.binding[hour]), hour)

    def reasons(self, hour: int) -> tuple[Reason, ...]:
        """The deciding limit first, then the others that speak against the hour."""
        first = int(self.binding[hour])
        others = (
            self.reason(limit, hour)
            for limit in np.flatnonzero(self.why[:, hour] != Why.INSIDE).tolist()
            if limit != first
        )
        return (self.reason(first, hour), *others)


def judge(time: Times, values: Floats, limits: Sequence[Limit]) -> Judgement:
    """Hold ``values`` (…, limits, hours) against ``limits``.

    Raises
    ------
    ValueError
        If there is no limit, or their number does not match ``values``.
    """
    if not limits or values.shape[-2] != len(limits):
        raise ValueError(f"{len(limits)} limits for {values.shape[-2]} quantities")
    margin = margins(values, limits)
    outcome, why = _outcomes(margin, limits)
    verdict = outcome.min(axis=-2)
    return Judgement(
        time=time,
        limits=tuple(limits),
        values=values,
        margins=margin,
        why=why,
        verdict=verdict,
        binding=_binding(margin, outcome, verdict, limits),
    )


def margins(values: Floats, limits: Sequence[Limit]) -> Floats:
    """Distance inside each bound, in its unit; negative outside; NaN unknown."""
    bound = np.array([limit.bound for limit in limits])[:, None]
    sign = np.array([1.0 if limit.side is Side.MIN else -1.0 for limit in limits])
    margin: Floats = sign[:, None] * (values - bound)
    return margin


def _outcomes(margin: Floats, limits: Sequence[Limit]) -> tuple[Codes, Codes]:
    strict = _column([limit.side is Side.BELOW for limit in limits])
    unconfirmed = _column([not limit.confirmed for limit in limits])
    passed_over = _column([limit.on_missing is Verdict.GOOD for limit in limits])
    missing = np.isnan(margin)
    inside = np.where(strict, margin > 0, margin >= 0) | (missing & passed_over)
    why = np.where(inside, Why.INSIDE, np.where(missing, Why.MISSING, Why.OUTSIDE))
    why = np.where(unconfirmed, Why.UNCONFIRMED, why)
    outcome = np.where(
        inside,
        _column([limit.on_pass for limit in limits]),
        _column([limit.on_failure for limit in limits]),
    )
    absent = _column([min(limit.on_missing, limit.on_pass) for limit in limits])
    outcome = np.where(missing, absent, outcome)
    return outcome.astype(np.uint8), why.astype(np.uint8)


def _column(each: list[bool] | list[Verdict]) -> npt.NDArray[np.generic]:
    """One value a limit, laid against hours."""
    return np.array(each)[:, None]


def _binding(
    margin: Floats, outcome: Codes, verdict: Codes, limits: Sequence[Limit]
) -> Codes:
    """The deciding limit: of those as bad as the verdict, the furthest outside."""
    error = np.array([limit.error for limit in limits])[:, None]
    distance = margin / error
    unknown = np.isnan(distance)
    skipped = unknown & (outcome == Verdict.GOOD)
    unconfirmed = _column([not limit.confirmed for limit in limits])
    distance = np.where(unknown | unconfirmed, -np.inf, distance)
    distance = np.where(skipped | (outcome != verdict[..., None, :]), np.inf, distance)
    binding: Codes = np.argmin(distance, axis=-2).astype(np.uint8)
    return binding
