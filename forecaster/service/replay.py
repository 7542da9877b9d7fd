"""Kept forecasts replayed: each hour by the newest forecast of its day of age.

Each forecast is judged whole, as it was issued: its dry hours ahead are its own. An
hour of age d days is one that began d × 24 h or more after the start of the run, and
less than a day later still.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.domain.marks import Marks
from forecaster.domain.weather import HOUR, QUANTITIES
from forecaster.errors import DataError, SourceError
from forecaster.service.hindcast import Bench, Side, compared
from forecaster.service.weather import with_pressure
from forecaster.sources import openmeteo_status
from forecaster.sources.kept_forecasts import SINGLES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    import numpy.typing as npt

    from forecaster.domain.hindcast_report import Hindcast
    from forecaster.domain.weather import Floats, WeatherFrame
    from forecaster.sources.kept_forecasts import KeptForecast
    from forecaster.sources.request import ModelRun

DAY = np.timedelta64(86_400, "s")
WEEK: Final = 7
"""[d] the oldest age told: the outlook goes no further."""
AHEAD = (WEEK + 2) * DAY
"""Judged after the start of a run; a day more than told, for the rain after it."""


@dataclass(slots=True)
class Piece:
    """One forecast, or what it told of many, on the hours after its run began."""

    issued: np.datetime64
    source: str
    side: Side


@dataclass(slots=True)
class Replayed:
    """Forecasts as they are read, each judged at once and then let go."""

    bench: Bench
    tell: Callable[[str, str], None]
    pieces: dict[tuple[str, str], list[Piece]] = field(default_factory=dict)
    runs: list[tuple[np.datetime64, ModelRun]] = field(default_factory=list)
    """What Open-Meteo's status said and when, in order."""

    def take(self, kept: Iterable[KeptForecast]) -> None:
        """Read and judge each; what can no longer be read is told and passed over."""
        for each in kept:
            try:
                parsed = each.parsed()
            except SourceError as error:
                self.tell(each.name, str(error))
                continue
            if parsed.run is not None:
                self.runs.append((each.request.made, parsed.run))
            frame = parsed.frame
            if frame is None or not bool((~np.isnan(frame.wind_speed)).any()):
                continue
            if each.product == SINGLES[0]:
                frame = self._dated(frame, each.request.made)
            self.pieces.setdefault(each.product, []).append(self._piece(frame))

    def _dated(self, frame: WeatherFrame, got: np.datetime64) -> WeatherFrame:
        """With its run by the newest status from before it, as when it came."""
        known = [said for said in self.runs if said[0] <= got]
        seen, run = known[-1] if known else (np.datetime64("NaT", "s"), None)
        return openmeteo_status.dated(frame, got, run, seen)

    def _piece(self, frame: WeatherFrame) -> Piece:
        run = frame.provenance.issued
        frame = with_pressure(
            frame.between(frame.time[0], run + AHEAD), self.bench.place
        )
        age = (frame.time - run) / DAY
        one = control(frame)
        side = self.bench.side(one, age)
        if one is not frame and self.bench.chance is not None:
            told = self.bench.chance(self.bench.judged(frame)[1], age)
            side = replace(side, chance=told)
        after = np.flatnonzero((age >= 0.0) & (age < WEEK + 1))
        return Piece(run, frame.provenance.source, rows(side, after))

    def report(self, observed: WeatherFrame, *, daylight: bool = True) -> Hindcast:
        """What came against each day of age; members tell the chances if there are any.

        Raises
        ------
        DataError
            If there is no forecast at all, or none of hours that were observed.
        """
        singles = [each for each in SINGLES if each in self.pieces]
        many = [each for each in self.pieces if each not in SINGLES]
        if not singles and not many:
            raise DataError("no kept forecast could be read")
        chosen = (singles or many)[0]
        leads = by_day(self.pieces[chosen])
        sources = [each.source for each in self.pieces[chosen]]
        for each in many if singles else []:
            leads = with_chances(leads, by_day(self.pieces[each]))
            sources += [piece.source for piece in self.pieces[each]]
        for each in singles[1:]:
            source = self.pieces[each][0].source
            self.tell(source, "one service is judged at a time; name its own folder")
        found = compared(observed, leads, self.bench, sources, daylight=daylight)
        first = min(side.time[0] for side in leads.values())
        end = max(side.time[-1] for side in leads.values()) + HOUR
        if end <= found.first or found.end <= first:
            raise DataError(
                f"hours were observed from {found.first}Z to {found.end}Z and forecast "
                f"from {first}Z to {end}Z: none in common"
            )
        return replace(found, first=max(found.first, first), end=min(found.end, end))


def control(frame: WeatherFrame) -> WeatherFrame:
    """The first member of many; a single forecast is given back as it is."""
    if frame.air_temperature.ndim == 1:
        return frame
    columns = {name: getattr(frame, name)[0] for name in QUANTITIES}
    marks = {
        name: Marks(each.bits[0], each.given[0]) for name, each in frame.marks.items()
    }
    return replace(frame, **columns, marks=marks)


def by_day(pieces: list[Piece]) -> dict[int, Side]:
    """One table for each day of age, every hour by the newest run that is so old."""
    in_order = sorted(pieces, key=lambda piece: piece.issued)
    whole = joined([piece.side for piece in in_order])
    issued = np.concatenate(
        [np.full(piece.side.time.size, piece.issued) for piece in in_order]
    )
    age = ((whole.time - issued) // DAY).astype(int)
    found = {}
    for day in np.unique(age).tolist():
        here = np.flatnonzero(age == day)[::-1]
        _, newest = np.unique(whole.time[here], return_index=True)
        found[day] = rows(whole, here[newest])
    return found


def with_chances(
    leads: Mapping[int, Side], members: Mapping[int, Side]
) -> dict[int, Side]:
    """The same tables, with the members' chances where those are known."""
    found = dict(leads)
    for day, side in leads.items():
        many = members.get(day)
        if many is None or many.chance is None or side.chance is None:
            continue
        at = np.searchsorted(many.time, side.time).clip(max=many.time.size - 1)
        told = np.where(many.time[at] == side.time, many.chance[at], np.nan)
        chance: Floats = np.where(np.isnan(told), side.chance, told)
        found[day] = replace(side, chance=chance)
    return found


def rows(side: Side, at: npt.NDArray[np.intp]) -> Side:
    """Some hours of a table."""
    return Side(
        side.time[at],
        {quantity: values[at] for quantity, values in side.measured.items()},
        side.verdict[at],
        None if side.chance is None else side.chance[at],
    )


def joined(sides: list[Side]) -> Side:
    """The hours of all tables, one after the other."""
    chances = [side.chance for side in sides if side.chance is not None]
    return Side(
        np.concatenate([side.time for side in sides]),
        {
            quantity: np.concatenate([side.measured[quantity] for side in sides])
            for quantity in sides[0].measured
        },
        np.concatenate([side.verdict for side in sides]),
        np.concatenate(chances) if len(chances) == len(sides) else None,
    )
