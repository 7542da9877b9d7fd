"""Single values that something was said against, taken out of a table for a reader."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.quality.flags import Done, Flag, done

if TYPE_CHECKING:
    import numpy.typing as npt

    from forecaster.domain.weather import WeatherFrame


@dataclass(frozen=True, slots=True)
class Doubt:
    """One value of one hour, and what was said against it.

    ``given`` is what was refused or replaced and ``value`` what stands there now, both
    in the unit of the quantity; NaN where there is none.
    """

    time: np.datetime64
    quantity: str
    flags: Flag
    given: float
    value: float

    @property
    def each(self) -> tuple[Flag, ...]:
        """One flag a rule, in the order of their bits."""
        return tuple(flag for flag in Flag if flag in self.flags)

    @property
    def refused_by(self) -> tuple[Flag, ...]:
        """The rules that took the value that was given; none where it was not."""
        return tuple(
            flag for flag in self.each if done(flag, self.quantity) is Done.REMOVED
        )


def doubts(frame: WeatherFrame) -> tuple[Doubt, ...]:
    """Every value of a (hours,) table that something was said against, in time."""
    return tuple(each for hour in by_hour(frame) for each in hour)


def by_hour(frame: WeatherFrame) -> tuple[tuple[Doubt, ...], ...]:
    """The same, hour by hour."""
    found: list[list[Doubt]] = [[] for _ in range(len(frame))]
    for name, marks in frame.marks.items():
        for row in np.flatnonzero(marks.bits).tolist():
            found[row].append(doubt_of(frame, name, row))
    return tuple(map(tuple, found))


def doubt_of(frame: WeatherFrame, name: str, row: int) -> Doubt:
    """What was said against one value of a (hours,) table."""
    marks = frame.marks_of(name)
    return Doubt(
        time=frame.time[row],
        quantity=name,
        flags=Flag(int(marks.bits[row])),
        given=float(marks.given[row]),
        value=float(getattr(frame, name)[row]),
    )


def unfit(frame: WeatherFrame, name: str) -> npt.NDArray[np.intp]:
    """Rows whose value of ``name`` a rule took: verdicts go without it.

    Those of a temperature drawn over a gap too.
    """
    marks = frame.marks.get(name)
    if marks is None:
        return np.empty(0, dtype=np.intp)
    gone = np.isnan(getattr(frame, name)) & (marks.bits != 0)
    if name == "air_temperature":
        gone = gone | ((marks.bits & np.uint16(Flag.FILLED)) != 0)
    rows: npt.NDArray[np.intp] = np.flatnonzero(gone)
    return rows
