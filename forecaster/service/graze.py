"""Which paddock to graze next: sprays, days of the label, rain and ripening."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.graze_page import GrazePage, PaddockTurn
from forecaster.domain.growth.stage import Stage
from forecaster.domain.planning.graze_order import Facts, order, turn_of
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.windows import Status
from forecaster.domain.record.keeping import Soaked
from forecaster.service.after_view import day_of
from forecaster.service.daily import outlook
from forecaster.service.likely import finite
from forecaster.settings.record_rules import after_numbers

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook
    from forecaster.domain.record.after_spray import AfterSpray
    from forecaster.service.farm_day import FarmDay

_OPEN_OR_AHEAD = {
    Status.NOT_OPEN, Status.OPENING_SOON, Status.OPEN, Status.CLOSING, Status.UNKNOWN,
}  # fmt: skip
"""An unknown window may still come: stock stay off until it is known."""


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
        today=day_of(day, whole.now),
        demo=demo,
        weather=whole.weather,
        numbers=after_numbers(),
        turns=tuple(found[at] for at in order(each.turn for each in found)),
    )


def _paddock(day: FarmDay, whole: Outlook, number: int) -> PaddockTurn:
    paddock = whole.paddocks[number]
    return PaddockTurn(
        paddock=paddock.name,
        hectares=paddock.hectares,
        turn=turn_of(_facts(day, paddock, number), day_of(day, whole.now)),
        after=paddock.after,
        fault=paddock.fault or "",
    )


def _facts(day: FarmDay, paddock: PaddockOutlook, number: int) -> Facts:
    after = paddock.after
    if paddock.fault is not None:
        return Facts(sprayed=paddock.sprayed is not None, known=False)
    facts = Facts(
        sprayed=after is not None,
        toxic=day.farm.paddocks[number].ryegrass_toxicity,
        to_spray=any(map(_may_be_used, paddock.actives)),
        ripe=_ripe(day, number),
    )
    return facts if after is None else _sprayed(facts, paddock, after)


def _sprayed(facts: Facts, paddock: PaddockOutlook, after: AfterSpray) -> Facts:
    """Heads counted since the spray say more than those before it."""
    late, kept = after.late_heads, after.keeping
    return replace(
        facts,
        late_heads=paddock.uneven is not None if late is None else late,
        not_before=after.not_before,
        held=kept.held,
        soaked=kept.rain.soaked is not Soaked.NO,
    )


def _may_be_used(active: ActiveOutlook) -> bool:
    """Whether this active may still be sprayed here."""
    usable = active.against is None and active.step is not Step.DOES_NOT_CONTROL
    return usable and active.status in _OPEN_OR_AHEAD


def _ripe(day: FarmDay, number: int) -> np.datetime64 | None:
    """The likely day half the heads of its target weed are hard dough."""
    paddock = day.farm.paddocks[number]
    projection = day.growth.projection(paddock.target, paddock)
    reached = finite(projection.stage_dates((Stage.HARD_DOUGH,)).likely[..., 0])
    return (
        None if reached is None else day_of(day, day.growth.season.moment_of(reached))
    )
