"""Chances of the hours and blocks of one paddock to keep within the label."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.spraying.chance import (
    SMALLEST_MEMBERS,
    chance_by_error,
    members_holding,
    of_label,
)
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.quantities import values

if TYPE_CHECKING:
    from forecaster.domain.spraying.blocks import Block
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Bools, Floats
    from forecaster.service.judging import WeekAir
    from forecaster.settings.farm import Paddock

DAY = np.timedelta64(86_400, "s")


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances on the hours judged; ``holds`` and ``known`` where there are members."""

    lead_days: Floats
    by_error: Floats
    """(hours,) [share]"""
    holds: Bools | None = None
    """(members, hours)"""
    known: Bools | None = None

    def of_block(self, block: Block) -> float:
        """Chance that every hour of a block keeps within the label [share].

        With members: those that hold throughout; one that breaks the label in any
        hour counts, whatever is unknown of it elsewhere. Without: the weakest hour's
        chance, as the errors of neighbouring hours go together.
        """
        rows = slice(block.first, block.end)
        if self.holds is not None and self.known is not None:
            holds, known = self.holds[:, rows], self.known[:, rows]
            told = known.all(axis=-1) | (known & ~holds).any(axis=-1)
            if int(told.sum()) >= SMALLEST_MEMBERS:
                return float(holds[told].all(axis=-1).mean())
        return float(self.by_error[rows].min())

    def lead_of(self, block: Block) -> float:
        """Lead time of a block's start [d]."""
        return float(self.lead_days[block.first])


def chances_of(air: WeekAir, paddock: Paddock, judgement: Judgement) -> Chances:
    """Chances of the hours of one judgement.

    In a replay of later knowledge the lead time counts from the moment stood at.
    """
    issued = np.minimum(air.air.frame.provenance.issued, judgement.time[0])
    lead = np.maximum((judgement.time - issued) / DAY, 0.0)
    by_error = chance_by_error(judgement, lead)
    members, label = air.members, of_label(judgement.limits)
    if members is None or not label:
        return Chances(lead, by_error)
    measured = values(members, label, paddock.exposure)
    holds, known = members_holding(judge(members.frame.time, measured, label))
    shape = (holds.shape[0], judgement.time.size)
    at = np.searchsorted(members.frame.time, judgement.time)
    inside = (at < members.frame.time.size) & np.isin(
        judgement.time, members.frame.time
    )
    on_hours = np.zeros((2, *shape), dtype=np.bool_)
    on_hours[0][:, inside] = holds[:, at[inside]]
    on_hours[1][:, inside] = known[:, at[inside]]
    return Chances(lead, by_error, on_hours[0], on_hours[1])
