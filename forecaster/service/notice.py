"""Which planned block a gate sign or a note is about, by the words of a command."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.notice import Notice
from forecaster.domain.planned import planned_blocks
from forecaster.errors import UsageError
from forecaster.render.words import LocalClock
from forecaster.service.daily import outlook
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import same_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.outlook import (
        ActiveOutlook,
        BlockView,
        NearView,
        PaddockOutlook,
    )
    from forecaster.service.farm_day import FarmDay


def notice(
    day: FarmDay,
    name: str,
    active: str | None,
    block: str | None,
    *,
    near: str | None = None,
    ahead: bool = False,
    demo: bool = False,
) -> Notice:
    """What a sign or note of the paddock called ``name`` is about.

    ``block`` is the number of a planned block, counted from 1, or its start as the
    outlook prints it; without one it is the first. A paddock marked sprayed is about
    that spray, unless the words are to go out ahead of it.

    Raises
    ------
    UsageError
        If there is no such paddock, active, planned block or neighbour, with those
        there are; if words ahead come too late.
    """
    wanted = paddock_called(day.farm, name).name
    whole = outlook(day, demo=demo)
    paddock = next(each for each in whole.paddocks if each.name == wanted)
    if paddock.fault is not None:
        raise UsageError(f"{wanted} cannot be told: {paddock.fault}")
    candidates = _recorded(paddock, active) or _actives(paddock, active)
    neighbour = None if near is None else _near(paddock, near)
    if paddock.sprayed is not None and ahead:
        raise UsageError(f"{wanted} is marked sprayed on {paddock.sprayed} already")
    if paddock.sprayed is not None:
        return Notice(whole, paddock, _sprayed_with(paddock, candidates, block), None)
    clock = LocalClock(whole.place.zone)
    chosen = next((each for each in candidates if planned_blocks(each)), None)
    if chosen is None:
        raise UsageError(_nothing_planned(wanted, candidates))
    found = _block(planned_blocks(chosen), block, clock, f"{wanted}, {chosen.active}")
    return Notice(whole, paddock, chosen, found, neighbour)


def _recorded(paddock: PaddockOutlook, wanted: str | None) -> list[ActiveOutlook]:
    """One active to speak of where the spray record says what was sprayed."""
    told = paddock.recorded
    if told is None:
        return []
    if wanted is not None and wanted not in told.actives:
        raise UsageError(
            f"--active {wanted!r}: by the record {paddock.name} was sprayed with "
            f"{' and '.join(told.actives)}"
        )
    last = told.actives[-1]
    named = [each for each in paddock.actives if each.active == last]
    return named or list(paddock.actives[:1])


def _actives(paddock: PaddockOutlook, wanted: str | None) -> list[ActiveOutlook]:
    if wanted is None:
        return list(paddock.actives)
    found = [each for each in paddock.actives if each.active == wanted]
    if not found:
        known = ", ".join(each.active for each in paddock.actives)
        raise UsageError(f"--active {wanted!r}: {paddock.name} has {known}")
    return found


def _sprayed_with(
    paddock: PaddockOutlook, candidates: list[ActiveOutlook], block: str | None
) -> ActiveOutlook:
    if block is not None:
        raise UsageError(
            f"{paddock.name} is marked sprayed on {paddock.sprayed}; take --block away"
        )
    if len(candidates) > 1:
        known = " or ".join(each.active for each in candidates)
        raise UsageError(
            f"{paddock.name} is marked sprayed on {paddock.sprayed}; say with what: "
            f"--active {known}"
        )
    return candidates[0]


def _nothing_planned(name: str, candidates: list[ActiveOutlook]) -> str:
    why = "; ".join(f"{each.active}: {each.step.value}" for each in candidates)
    return f"no block is planned in {name} ({why}); see 'forecaster outlook'"


def _block(
    blocks: Sequence[BlockView], wanted: str | None, clock: LocalClock, where: str
) -> BlockView:
    if wanted is None:
        return blocks[0]
    asked = " ".join(wanted.casefold().split())
    for number, each in enumerate(blocks, start=1):
        if asked in {str(number), clock.hour(each.start).casefold()}:
            return each
    there = "; ".join(
        f"{number}. {clock.span(each.start, each.end)}"
        for number, each in enumerate(blocks, start=1)
    )
    raise UsageError(
        f"--block {wanted!r} is not planned in {where}; allowed is a number or a start "
        f"such as {clock.hour(blocks[0].start)!r} of: {there}"
    )


def _near(paddock: PaddockOutlook, wanted: str) -> NearView:
    for each in paddock.near:
        if same_name(each.name) == same_name(wanted):
            return each
    known = ", ".join(each.name for each in paddock.near) or "nothing"
    raise UsageError(f"--near {wanted!r}: near {paddock.name} lies {known}")
