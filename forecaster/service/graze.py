"""Which paddock to graze next: sprays, days of the label, rain and ripening."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.domain.graze_page import GrazePage, PaddockTurn
from forecaster.domain.growth.stage import Stage
from forecaster.domain.planning.graze_order import Facts, order, turn_of
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.domain.record.keeping import Keeping, Soaked, keeping, rain_after
from forecaster.service.daily import outlook
from forecaster.service.likely import finite
from forecaster.service.moments import as_utc, local_day
from forecaster.settings.record_rules import after_numbers

if TYPE_CHECKING:
    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook
    from forecaster.service.farm_day import FarmDay

_OPEN_OR_AHEAD = {
    Status.NOT_OPEN, Status.OPENING_SOON, Status.OPEN, Status.CLOSING, Status.UNKNOWN,
}  # fmt: skip
"""An unknown window may still come: stock stay off until it is known."""
CAPEWEED = "capeweed"


def graze_page(day: FarmDay, *, demo: bool = False) -> GrazePage:
    """The paddocks of the farm in the order in which to graze them.

    Same inputs, same page; newer rain, a look or a record changes it.
    """
    whole = outlook(day, demo=demo)
    found = [_paddock(day, whole, number) for number in range(len(whole.paddocks))]
    return GrazePage(
        farm=whole.farm,
        place=whole.place,
        now=whole.now,
        today=_day_of(day, whole.now),
        demo=demo,
        weather=whole.weather,
        numbers=after_numbers(),
        turns=tuple(found[at] for at in order(each.turn for each in found)),
    )


def _day_of(day: FarmDay, moment: np.datetime64) -> np.datetime64:
    return np.datetime64(local_day(moment, day.weather.place.zone), "D")


def _paddock(day: FarmDay, whole: Outlook, number: int) -> PaddockTurn:
    paddock = whole.paddocks[number]
    kept = _keeping(day, whole, paddock)
    facts = _facts(day, paddock, number, kept)
    return PaddockTurn(
        paddock=paddock.name,
        hectares=paddock.hectares,
        turn=turn_of(facts, _day_of(day, whole.now)),
        sprayed=paddock.sprayed,
        keeping=kept,
        second_look=paddock.second_look,
        broadleaf=kept is not None and CAPEWEED in day.farm.paddocks[number].weeds,
        fault=paddock.fault or "",
    )


def _keeping(day: FarmDay, whole: Outlook, paddock: PaddockOutlook) -> Keeping | None:
    """How long its feed keeps after its spray, with the rain since and ahead."""
    if paddock.sprayed is None:
        return None
    told, frame, numbers = paddock.recorded, day.weather.frame, after_numbers()
    finish = _next_midnight(day, paddock.sprayed) if told is None else told.finish
    rain = rain_after(frame.time, frame.rain, finish, whole.now, numbers)
    return keeping(paddock.sprayed, rain, numbers, lambda moment: _day_of(day, moment))


def _next_midnight(day: FarmDay, sprayed: np.datetime64) -> np.datetime64:
    """The end of the day of a spray of which no hour is known."""
    zone = ZoneInfo(day.weather.place.zone)
    date = dt.date.fromisoformat(str(sprayed)) + dt.timedelta(days=1)
    return as_utc(dt.datetime.combine(date, dt.time(), zone))


def _facts(
    day: FarmDay, paddock: PaddockOutlook, number: int, kept: Keeping | None
) -> Facts:
    if paddock.fault is not None:
        return Facts(sprayed=kept is not None, known=False)
    return Facts(
        sprayed=kept is not None,
        toxic=day.farm.paddocks[number].ryegrass_toxicity,
        to_spray=any(map(_may_be_used, paddock.actives)),
        uneven=paddock.uneven is not None,
        not_before=_not_before(paddock),
        held=None if kept is None else kept.held,
        soaked=kept is not None and kept.rain.soaked is not Soaked.NO,
        ripe=_ripe(day, number),
    )


def _may_be_used(active: ActiveOutlook) -> bool:
    """Whether this active may still be sprayed here."""
    usable = active.against is None and active.step is not Step.DOES_NOT_CONTROL
    return usable and active.status in _OPEN_OR_AHEAD


def _not_before(paddock: PaddockOutlook) -> np.datetime64 | None:
    """The first day for stock; by the farm file alone it must hold for every active."""
    if paddock.recorded is not None or paddock.sprayed is None:
        return None if paddock.recorded is None else paddock.recorded.not_before
    sprayed = paddock.sprayed
    days = [each.withholding.not_before(sprayed) for each in paddock.actives]
    known = [each for each in days if each is not None]
    return max(known) if known and len(known) == len(days) else None


def _ripe(day: FarmDay, number: int) -> np.datetime64 | None:
    """The likely day half the heads of its target weed are hard dough."""
    paddock = day.farm.paddocks[number]
    projection = day.growth.projection(paddock.target, paddock)
    reached = finite(projection.stage_dates((Stage.HARD_DOUGH,)).likely[..., 0])
    return (
        None if reached is None else _day_of(day, day.growth.season.moment_of(reached))
    )
