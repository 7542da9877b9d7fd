"""All rules over a weather table, in one straight line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.marks import spoken
from forecaster.domain.quality import moisture, sense, single, stuck
from forecaster.domain.quality.filling import short_gaps_filled
from forecaster.domain.quality.flags import Flag
from forecaster.domain.quality.table import Table
from forecaster.domain.quality.thresholds import CLOCK_LEAST, CLOCK_SHARE
from forecaster.domain.weather import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.marks import Bits
    from forecaster.domain.place import Place
    from forecaster.domain.weather import Bools, Floats, WeatherFrame


@dataclass(frozen=True, slots=True)
class Checked:
    """A table without the values that failed, and what was said against each.

    The table carries all its marks, those it came with included. ``flags`` holds what
    is new: one array of :class:`Flag` bits for each quantity, in the shape of its
    values, and for ``dew_point`` where one was given.
    """

    frame: WeatherFrame
    flags: Mapping[str, Bits]
    dew_point: Floats | None = None
    clock_suspect: bool = False
    """Whether so much sunshine fell in the night that the clock must be wrong."""

    def where(self, name: str, flag: Flag) -> Bools:
        """Values of quantity ``name`` that hold ``flag``."""
        held: Bools = (self.flags[name] & np.uint16(flag)) != 0
        return held

    @property
    def counts(self) -> dict[tuple[Flag, str], int]:
        """How many values of which quantity each rule spoke against, if any."""
        found = {
            (flag, name): int(self.where(name, flag).sum())
            for flag in Flag
            for name in self.flags
        }
        return {key: count for key, count in found.items() if count}


def check(
    frame: WeatherFrame,
    place: Place,
    *,
    dew_point: Floats | None = None,
    fill: bool = True,
) -> Checked:
    """Hold every value of ``frame`` against the rules.

    A value that fails is NaN in the table given back, so that its hour becomes
    unknown; ``frame`` itself is not changed. Rows that stand twice are the
    importer's to settle.

    Parameters
    ----------
    frame : WeatherFrame
        (hours,) or (members, hours).
    place : Place
        For the sun and the standard pressure.
    dew_point : array in the shape of the temperature, optional
        [°C] Where it was measured too, humidity is held against it.
    fill : bool
        Draw gaps of up to three hours straight in temperature, dew point and
        pressure, those included that a rule made.

    Raises
    ------
    ValueError
        If the elevation of ``place`` is none the standard pressure is stated for.
    """
    dark = sense.full_night(frame.time, place)
    table = Table.of(_columns(frame, dew_point), frame.marks)
    table = single.within_range(table)
    table = single.no_spikes(table)
    table = single.steps_noted(table)
    table = moisture.agreeing(table)
    table = stuck.moving(table, place.elevation)
    table = moisture.with_temperature(table)
    table = sense.winds(table)
    table = sense.rain(table)
    table = sense.night_sun(table, dark)
    if fill:
        table = short_gaps_filled(table)
    return _checked(frame, table, dark)


def _columns(frame: WeatherFrame, dew_point: Floats | None) -> dict[str, Floats]:
    columns: dict[str, Floats] = {name: getattr(frame, name) for name in QUANTITIES}
    return columns if dew_point is None else {**columns, "dew_point": dew_point}


def _checked(frame: WeatherFrame, table: Table, dark: Bools) -> Checked:
    columns: dict[str, Any] = {name: table.values[name] for name in QUANTITIES}
    marks = {name: table.marks[name] for name in QUANTITIES}
    new = {
        name: each.bits & ~frame.marks[name].bits if name in frame.marks else each.bits
        for name, each in table.marks.items()
    }
    sunny = (table.marks["radiation"].bits & np.uint16(Flag.NIGHT_SUN)) != 0
    nights = int((dark & ~np.isnan(frame.radiation)).sum())
    enough = max(CLOCK_LEAST.value, CLOCK_SHARE.value * nights)
    return Checked(
        replace(frame, **columns, marks=spoken(marks)),
        new,
        table.values.get("dew_point"),
        clock_suspect=bool(sunny.sum() >= enough),
    )
