"""Chances of the hours and blocks of one paddock to keep within the label."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.spraying.chance import (
    SMALLEST_MEMBERS,
    chance_by_error,
    chance_of_members,
    mean_of_members,
    members_holding,
    of_label,
)
from forecaster.domain.spraying.chance_basis import ChanceBasis, basis_of
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.limits import Rank, Verdict
from forecaster.domain.spraying.quantities import values
from forecaster.domain.weather import HOUR

if TYPE_CHECKING:
    from forecaster.domain.spraying.blocks import Block
    from forecaster.domain.spraying.forecast_error import Errors
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Bools, Floats, Times
    from forecaster.service.judging import WeekAir
    from forecaster.settings.farm import Paddock

DAY = np.timedelta64(86_400, "s")


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances on the hours judged; the last two where there are members."""

    lead_days: Floats
    by_error: Floats
    """(hours,) [share]"""
    by_member: Floats | None = None
    """(members, hours) [share] NaN where a member is not known."""
    holds: Bools | None = None
    """(members, hours) within the label as it stands, no error added."""

    def of_hours(self) -> Floats:
        """Chance (hours,) of each hour: of the members, else of the one forecast."""
        if self.by_member is None:
            return self.by_error
        told = mean_of_members(self.by_member)
        return np.where(np.isnan(told), self.by_error, told)

    def of_block(self, block: Block) -> float:
        """Chance that every hour of a block keeps within the label [share].

        The weakest hour's chance, as the errors of neighbouring hours go together;
        with members that of each, and their mean. One that breaks the label in any
        hour counts, whatever is unknown of it elsewhere.
        """
        rows = slice(block.first, block.end)
        if self.by_member is not None and self.holds is not None:
            chance, holds = self.by_member[:, rows], self.holds[:, rows]
            known = ~np.isnan(chance)
            told = known.all(axis=-1) | (known & ~holds).any(axis=-1)
            if int(told.sum()) >= SMALLEST_MEMBERS:
                weakest = np.where(known, chance, 1.0).min(axis=-1)
                return float(weakest[told].mean())
        return float(self.by_error[rows].min())

    def lead_of(self, block: Block) -> float:
        """Lead time of a block's start [d]."""
        return float(self.lead_days[block.first])


def chances_of(
    air: WeekAir, paddock: Paddock, judgement: Judgement, errors: Errors
) -> Chances:
    """Chances of the hours of one judgement; a member has the age of its own run.

    In a replay of later knowledge the age counts from the moment stood at.
    """
    now = judgement.time[0]
    lead = _age(judgement.time, air.air.frame.provenance.issued, now)
    by_error = chance_by_error(judgement, lead, errors)
    members, label = air.members, of_label(judgement.limits)
    if members is None or not label:
        return Chances(lead, by_error)
    week = judgement.time[0], judgement.time[-1] + HOUR
    rows = slice(*np.searchsorted(members.frame.time, week).tolist())
    time = members.frame.time[rows]
    if not time.size:
        return Chances(lead, by_error)
    measured = values(members, label, paddock.exposure)[..., rows]
    judged = judge(time, measured, label)
    ages = _age(time, members.frame.provenance.issued, now)
    by_member = chance_of_members(judged, ages, errors)
    at = np.searchsorted(time, judgement.time).clip(max=time.size - 1)
    inside = time[at] == judgement.time
    return Chances(
        lead,
        by_error,
        np.where(inside, by_member[:, at], np.nan),
        inside & members_holding(judged)[0][:, at],
    )


def label_chances(
    air: WeekAir, paddock: Paddock, judgement: Judgement, errors: Errors
) -> Floats:
    """Chance (hours,) of each hour.

    NaN where the hour is unknown, and all NaN while a label number is unconfirmed.
    """
    if any(each.rank is Rank.LAW and not each.confirmed for each in judgement.limits):
        return np.full(judgement.time.shape, np.nan)
    chance = chances_of(air, paddock, judgement, errors).of_hours()
    return np.where(judgement.verdict == Verdict.UNKNOWN, np.nan, chance)


def chance_basis(air: WeekAir, judgement: Judgement, errors: Errors) -> ChanceBasis:
    """What :func:`chances_of` makes them from."""
    table = air.air if air.members is None else air.members
    many = 0 if air.members is None else table.frame.air_temperature.shape[0]
    source = table.frame.provenance.source
    return basis_of(judgement.limits, errors, many, source)


def _age(time: Times, issued: np.datetime64, now: np.datetime64) -> Floats:
    """[d] since ``issued``, or since ``now`` where that was before."""
    age: Floats = np.maximum((time - np.minimum(issued, now)) / DAY, 0.0)
    return age
