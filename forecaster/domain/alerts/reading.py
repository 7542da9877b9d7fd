"""What one check knows of one window, and of the farm: all that decisions rest on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.records import Change, WindowKey


class Span(NamedTuple):
    """Early, likely and late moment, UTC ``datetime64[s]``; 1 in 10 outside each way.

    None: not reached before the weather ends.
    """

    early: np.datetime64 | None
    likely: np.datetime64 | None
    late: np.datetime64 | None


@dataclass(frozen=True, slots=True)
class GoodBlock:
    """A run of good hours inside the likely stage window."""

    start: np.datetime64
    end: np.datetime64
    wind_from: float
    """[°] Mean side; NaN when calm or not known."""
    wind_speed: float
    """[m/s] The strongest hour's mean wind at 10 m."""
    chance: float
    """[share] to keep within the label throughout; NaN when unknown."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One window at one check."""

    key: WindowKey
    paddock: str
    """As its people call it."""
    weed: str
    hectares: float
    needed: float
    """[h] of spraying the paddock takes."""
    sprayed: bool
    open: Span
    close: Span
    close_soon: np.datetime64 | None
    """The earliest plausible close: by then, if it is open now, it has closed with a
    chance of 1 in 5 (``planning.windows.MAY_CLOSE``). None where it is not open in
    any trace, or that chance is not reached before the weather ends."""
    open_now: float
    """[share] chance that it is open now; NaN when unknown."""
    blocks: tuple[GoodBlock, ...]
    """Good hours from now to the likely close."""
    hours: float
    """[h] of those blocks; NaN where hours cannot be judged."""
    look_hours: float
    """[h] inside the window that need a look at the gate first; NaN likewise."""
    in_sight: bool = False
    """Whether the forecast reaches to the likely close, so that no more can come."""
    against: str = ""
    """Why nobody should spray by its dates, such as uneven heads; no hours then."""
    fault: str = ""
    """Why nothing can be told; everything else then counts for nothing."""
    due: tuple[Change, ...] = ()
    """What a sprayed paddock asks for, told with one of its windows."""


@dataclass(frozen=True, slots=True)
class FarmReading:
    """The farm at one check."""

    now: np.datetime64
    season: int
    source: str
    issued: np.datetime64 | None
    """Of the forecast; None: no weather at all."""
    seen_until: np.datetime64 | None
    """The hour up to which hours are observed, none missing for long."""
    horizon: np.datetime64 | None
    """The last hour of the forecast."""
    basis: str
    """Of settings, looks and program: a change explains moved dates."""
    fault: str = ""
    """Why there is no weather."""
    trouble: str = ""
    """What is wrong with the farm's files, where older ones are used instead."""
    skew_s: float | None = None
    """[s] our clock ahead of a weather service's; None: nobody was asked."""
