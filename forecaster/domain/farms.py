"""Many farms on one page: what cannot be told first, then what presses most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook

LEAST_DAYS = 0.5
"""[d] A close nearer than this counts as this near. Assumed."""
OLD_HOURS = 30.0
"""[h] Weather older than this is told before all rows, as an hour of it asks for a look
at a newer one. Assumed."""
_AHEAD = {Status.NOT_OPEN, Status.OPENING_SOON, Status.OPEN, Status.CLOSING}


@dataclass(frozen=True, slots=True)
class FarmFault:
    """A farm of which nothing can be told, and why."""

    farm: str
    """The name of its folder."""
    reason: str


@dataclass(frozen=True, slots=True)
class FarmRow:
    """One active in one paddock; no active where the paddock cannot be told."""

    outlook: Outlook
    paddock: PaddockOutlook
    active: ActiveOutlook | None

    @property
    def status(self) -> Status:
        """Where its stage window stands."""
        return Status.UNKNOWN if self.active is None else self.active.status

    @property
    def days_to_close(self) -> float | None:
        """To the likely close [d]; None: unknown, or after the weather ends."""
        days = None if self.active is None else self.active.days_to_close
        return None if days is None else days.likely

    @property
    def pressure(self) -> float:
        """Hectares a day left until the likely close [ha/d]; see :func:`pressure`."""
        if self.status not in _AHEAD:
            return 0.0
        return pressure(self.paddock.hectares, self.days_to_close)


@dataclass(frozen=True, slots=True)
class FarmsOutlook:
    """The list somebody with many farms works down."""

    faults: tuple[FarmFault, ...]
    farms: tuple[Outlook, ...]
    rows: tuple[FarmRow, ...]

    @property
    def old(self) -> tuple[Outlook, ...]:
        """Farms whose weather is older than :data:`OLD_HOURS`, or of unknown age."""
        return tuple(
            each for each in self.farms if not each.weather.age_hours <= OLD_HOURS
        )


def pressure(hectares: float, days_to_close: float | None) -> float:
    """Area over the days left, these at least :data:`LEAST_DAYS`; in ha/d.

    So the list is by hectares that shut soonest: 60 ha in 3 days press as much as
    20 ha in one. Nought where the close lies beyond the weather.
    """
    if days_to_close is None:
        return 0.0
    return hectares / max(days_to_close, LEAST_DAYS)


def farms_outlook(
    outlooks: tuple[Outlook, ...], faults: tuple[FarmFault, ...]
) -> FarmsOutlook:
    """All rows, sorted.

    Unknown first, then windows ahead or open by falling pressure, then closed, then
    sprayed; equals by farm, paddock and active. An active that does not control the
    weed has no row.
    """
    rows = [row for outlook in outlooks for row in _rows(outlook)]
    return FarmsOutlook(faults, outlooks, tuple(sorted(rows, key=_order)))


def _rows(outlook: Outlook) -> list[FarmRow]:
    found = []
    for paddock in outlook.paddocks:
        if not paddock.actives:
            found.append(FarmRow(outlook, paddock, None))
        found += [
            FarmRow(outlook, paddock, active)
            for active in paddock.actives
            if active.step is not Step.DOES_NOT_CONTROL
        ]
    return found


def _order(row: FarmRow) -> tuple[int, float, str, str, str]:
    group = {Status.UNKNOWN: 0, Status.CLOSED: 2, Status.SPRAYED: 3}.get(row.status, 1)
    active = "" if row.active is None else row.active.active
    return group, -row.pressure, row.outlook.farm, row.paddock.name, active
