"""A season projected: the day each stage is reached, on many possible weathers.

What is not known is carried as a spread, not as a margin added afterwards. Each
trace of weather is combined with a few equally likely errors of the weed's
thermal times (the *nodes*). One node shifts all stages of a trace together, so they
stay in order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth import clock as clocks
from forecaster.domain.growth import heads
from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.quantiles import Range, spread_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.growth.clock import Clock
    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.growth.weed import ShareRule, Weed
    from forecaster.domain.weather import Bools, Floats

NODES = 15
"""Equally likely errors per trace. Assumed: 15 puts the 10 %, 50 % and 90 % points
exactly on a node, and costs no more than a look-up each."""


def equal_nodes(count: int = NODES) -> Floats:
    """Middles of ``count`` equally likely parts of a standard normal error."""
    return np.array(
        [heads.normal_quantile((place + 0.5) / count) for place in range(count)]
    )


_NODES = equal_nodes()
_NODES.flags.writeable = False


@dataclass(frozen=True, slots=True)
class Projection:
    """One weed in the paddocks of one weather cell.

    Days are fractional, counted from the start of ``clock.first_day``: +inf means
    not reached before the weather ends, NaN unknown. Leading axes are those of the
    break dates the projection was made with.
    """

    weed: Weed
    clock: Clock
    emergence: Floats
    """(paddocks, traces) day of emergence."""
    start: Floats
    """(paddocks, traces) the weighted clock at emergence. [°C d]"""
    gap: Floats
    """(paddocks, traces) first unknown day on or after the break."""
    late: Bools
    """(paddocks, traces) emerged after midwinter: heading may be patchy."""
    belief: Belief
    """How each paddock may differ from the weed's own numbers."""
    nodes: Floats
    """(nodes,) equally likely standard normal errors."""
    shape: tuple[int, ...]
    """Of the break dates: (paddocks,), or () for one paddock."""

    @property
    def patchy(self) -> Bools:
        """Whether any trace emerges after midwinter, so that heads come unevenly."""
        return self.late.any(axis=-1).reshape(self.shape)

    @property
    def late_factor(self) -> Floats:
        """On the SD of heads: (paddocks, traces), or (paddocks, 1) if none is late."""
        if not self.late.any():
            return np.ones((self.late.shape[0], 1))
        return np.where(self.late, self.weed.late_spread.value, 1.0)

    @property
    def spread_factor(self) -> Floats:
        """On the SD of heads as believed: (paddocks, traces or 1, 1)."""
        return (self.late_factor * self.belief.mean[:, 2:])[..., None]

    def shift(self, stage: Stage) -> Floats:
        """Error of a stage's thermal time, (paddocks, 1, nodes) in °C d."""
        mean, sd = self.belief.reach(self.weed.offset(stage))
        return mean[..., None] + sd[..., None] * self.nodes

    def threshold(self, rule: ShareRule) -> Floats:
        """Thermal time since emergence at which a rule holds.

        (paddocks, traces or 1, nodes) [°C d]
        """
        z = heads.normal_quantile(rule.share.value)
        lever = self.late_factor * self.weed.spread.value * z
        mean, sd = self.belief.reach(self.weed.offset(rule.stage), lever)
        centre = self.weed.position(rule.stage) + mean
        return centre[..., None] + sd[..., None] * self.nodes

    def half_past(self, stage: Stage) -> Floats:
        """Thermal time since emergence at which half the heads are at a stage.

        (paddocks, 1, nodes) [°C d]
        """
        return self.weed.position(stage) + self.shift(stage)

    def thermal_time(self, days: npt.ArrayLike) -> Floats:
        """Thermal time since emergence on each day: (..., paddocks, traces) in °C d.

        Leading axes are those of ``days``, none for a single one. −inf before
        emergence, NaN where the trace is unknown by then.
        """
        day = np.asarray(days, dtype=np.float64)[..., None, None]
        when = np.broadcast_to(day, (*day.shape[:-2], *self.emergence.shape))
        since = clocks.value_at(self.clock.weighted, when) - self.start
        since = np.where(self.emergence > when, -np.inf, since)
        return np.where(self.gap < when, np.nan, since)

    def days_at(self, thermal_time: Floats) -> Floats:
        """The day each thermal time since emergence is reached.

        Parameters
        ----------
        thermal_time : (paddocks, targets, traces or 1, nodes) array
            [°C d] Below zero counts as reached at emergence.

        Returns
        -------
        (paddocks, targets, traces, nodes) array
            Days from the first day; +inf not reached, NaN unknown.
        """
        # Traces lead here, so that each is searched in one go.
        wanted = np.moveaxis(np.maximum(thermal_time, 0.0), 2, 0)
        target = self.start.T[..., None, None] + wanted
        days = clocks.day_reached(self.clock.weighted, target)
        if np.isfinite(self.gap).any():
            days[days > self.gap.T[..., None, None]] = np.nan
        return np.moveaxis(days, 0, 2)

    def stage_days(self, stages: tuple[Stage, ...] = heads.STAGES) -> Floats:
        """The day half the heads reach each stage: (..., stages, traces, nodes)."""
        middles = np.stack([self.half_past(stage) for stage in stages], axis=1)
        # A stage known better than the one before it must not overtake it.
        middles = np.maximum.accumulate(middles, axis=1)
        return self.restore(self.days_at(middles))

    def stage_dates(self, stages: tuple[Stage, ...] = heads.STAGES) -> Range:
        """10 %, median and 90 % day of each stage, each (..., stages)."""
        return spread_of(self.stage_days(stages))

    def restore(self, values: Floats) -> Floats:
        """Give back the leading axes the projection was made with."""
        return values.reshape(*self.shape, *values.shape[1:])


@dataclass(frozen=True, slots=True)
class StagesNow:
    """Heads of a paddock on one day."""

    past: Range
    """(..., stages) share at the stage or past it; ``early`` is the low share."""
    at: Floats
    """(..., 1 + stages) likely share not out yet, then at each stage; sums to 1."""


def project(
    weed: Weed,
    daily: Floats,
    first_day: np.datetime64,
    breaks: npt.ArrayLike,
    *,
    southern: bool = True,
    belief: Belief | None = None,
    nodes: Floats = _NODES,
) -> Projection:
    """Project one weed in the paddocks of one weather cell.

    Parameters
    ----------
    weed : Weed
        Its numbers.
    daily : (traces, days) array
        Thermal time of each day for this weed's base and ceiling. [°C d] A missing
        day from the break on makes the rest of its trace unknown.
    first_day : datetime64[D]
        Local solar day of the first column.
    breaks : datetime64 or (paddocks,) array of them
        Break of season of each paddock. NaT, or before ``first_day``: unknown.
    southern : bool
        Midwinter is 1 July if true, 1 January if false.
    belief : Belief, optional
        How each paddock may differ from the weed's own numbers; a field look gives
        one. Default: :meth:`Belief.prior` of the weed.
    nodes : (nodes,) array
        Equally likely standard normal errors, rising.

    Returns
    -------
    Projection

    Raises
    ------
    ValueError
        If ``daily`` is not (traces, days) or holds a negative day.
    """
    clock = clocks.run_clock(
        daily, first_day, early_weight=weed.early_weight.value, southern=southern
    )
    dates = np.asarray(breaks, dtype="datetime64[D]")
    day = _day_number(dates.reshape(-1), clock)
    emergence, gap = _emerge(clock, day, weed.emergence.value)
    return Projection(
        weed=weed,
        clock=clock,
        emergence=emergence,
        start=clocks.value_at(clock.weighted, emergence),
        gap=gap,
        late=emergence > clock.biofix,
        belief=belief or Belief.prior(weed, dates.size),
        nodes=nodes,
        shape=dates.shape,
    )


def stages_now(projection: Projection, day: float) -> StagesNow:
    """Shares of heads past and at each stage on a day.

    Parameters
    ----------
    projection : Projection
        The season.
    day : float
        Days from the first day, fractions allowed.

    Returns
    -------
    StagesNow
        NaN where the trace is unknown on that day.
    """
    now = projection.thermal_time(day)
    past = np.stack(
        [
            heads.share_past(
                projection.weed,
                stage,
                now[..., None],
                shift=projection.shift(stage),
                spread_factor=projection.spread_factor,
            )
            for stage in heads.STAGES
        ],
        axis=1,
    )
    shares = spread_of(projection.restore(past))
    return StagesNow(past=shares, at=heads.shares_between(shares.likely))


def day_of(projection: Projection, moment: np.datetime64) -> float:
    """Days from the first day to a local solar moment, fractions included."""
    first = projection.clock.first_day.astype("datetime64[s]")
    return float((moment.astype("datetime64[s]") - first) / clocks.DAY)


def as_dates(projection: Projection, days: Floats) -> npt.NDArray[np.datetime64]:
    """The local solar date of each day number; NaT where not finite.

    NaT does not tell *not reached* from *unknown*: ask the day number.
    """
    known = np.isfinite(days)
    whole = np.floor(np.where(known, days, 0.0)).astype("timedelta64[D]")
    dates = projection.clock.first_day + whole
    return np.where(known, dates, np.datetime64("NaT", "D"))


def _day_number(dates: npt.NDArray[np.datetime64], clock: Clock) -> Floats:
    day = (dates - clock.first_day) / clocks.DAY
    return np.where(day < 0, np.nan, day)


def _emerge(clock: Clock, day: Floats, needed: float) -> tuple[Floats, Floats]:
    """Day of emergence and of the first gap since the break: (paddocks, traces)."""
    traces = clock.missing.shape[0]
    begun = np.repeat(day[:, None], traces, axis=1)
    begun = np.where(begun > clock.days, np.inf, begun)
    target = clocks.value_at(clock.plain, begun) + needed
    emergence = clocks.day_reached(clock.plain, target.T).T
    at = np.where(np.isnan(day), 0.0, np.minimum(day, clock.days))
    gap = clocks.first_gap(clock.missing, at)
    return np.where(emergence > gap, np.nan, emergence), gap
