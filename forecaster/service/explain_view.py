"""Why one paddock's outlook is what it is, and what would change it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.explanation import (
    DateChange,
    Explanation,
    LimitLine,
    NumberLine,
    RefusedLine,
)
from forecaster.domain.growth.control import CLASSES, by_class
from forecaster.domain.growth.stage import Stage
from forecaster.domain.growth.stage_window import window_dates
from forecaster.domain.spraying.hours import judge
from forecaster.domain.spraying.limits import Verdict
from forecaster.service.chance import chance_basis
from forecaster.service.judging import judge_paddock
from forecaster.service.paddock_window import paddock_window, timed_for_toxicity
from forecaster.service.refusals import refused_values
from forecaster.sources.season import DAY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.growth.control import WeedControl
    from forecaster.domain.growth.grazing import GrazingEffect
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.actives import Active
    from forecaster.settings.farm import Paddock

BREAK_MOVED = 10
"""[d] by which the break is moved to show what it is worth."""


def explain(day: FarmDay, paddock: Paddock, active: Active) -> Explanation:
    """Everything behind the outlook of ``active`` on the target of ``paddock``."""
    weed = day.farm.weeds[paddock.target]
    judgement = judge_paddock(day.farm, day.air, paddock, active, paddock.target)
    good = int((judgement.verdict == Verdict.GOOD).sum())
    return Explanation(
        paddock=paddock.name,
        weed_name=weed.name,
        latin=weed.latin,
        note=weed.note,
        active=active.name,
        good_hours=good,
        hours=int(judgement.time.size),
        numbers=(
            *_numbers(weed),
            *_grazing_numbers(day.growth.grazing_effect(weed.id, paddock)),
            *_window_numbers(weed, paddock, active),
            *_effect_numbers(weed, active, day.farm.controls.get(weed.id)),
        ),
        limits=tuple(
            LimitLine(limit, _gained(judgement, number, good))
            for number, limit in enumerate(judgement.limits)
        ),
        changes=tuple(_changes(day, paddock, active)),
        basis=chance_basis(day.air, judgement, day.farm.errors),
        place=day.weather.place,
        refused=tuple(_refused(day, judgement)),
        trial_note=_trial_note(active, day.farm.controls.get(weed.id)),
    )


def _numbers(weed: Weed) -> Iterator[NumberLine]:
    yield NumberLine("base temperature", weed.base)
    yield NumberLine("ceiling temperature", weed.ceiling)
    yield NumberLine("weight of warmth before midwinter", weed.early_weight)
    yield NumberLine("break of season to emergence", weed.emergence)
    yield NumberLine("emergence to half the heads out", weed.half_headed)
    for stage, offset in weed.offsets.items():
        yield NumberLine(f"heads out to BBCH {int(stage)}", offset)
    yield NumberLine("spread between heads", weed.spread)
    yield NumberLine("uncertainty of heading before a look", weed.prior_sd)
    yield NumberLine("uncertainty of the time between stages", weed.phase_sd)


def _grazing_numbers(effect: GrazingEffect) -> Iterator[NumberLine]:
    if effect.change is None:
        return
    what = f"grazed {effect.case}"
    yield NumberLine(f"{what}: on the spread between heads", effect.change.spread)
    yield NumberLine(f"{what}: heads later by", effect.change.later)


def _window_numbers(
    weed: Weed, paddock: Paddock, active: Active
) -> Iterator[NumberLine]:
    if weed.toxicity is not None and timed_for_toxicity(paddock, weed):
        yield NumberLine("open: share at BBCH 55, toxicity", weed.toxicity.open.share)
        yield NumberLine("closed: days after that, toxicity", weed.toxicity.days)
        return
    rule = weed.windows.get(active.mode)
    if rule is None:
        return
    for edge in ("open", "best_from", "best_until", "closed"):
        for share in getattr(rule, edge):
            what = f"{edge.replace('_', ' ')}: share at BBCH {int(share.stage)}"
            yield NumberLine(what, share.share)


def _effect_numbers(
    weed: Weed, active: Active, control: WeedControl | None
) -> Iterator[NumberLine]:
    """The control curve, class by class, and what older seed brings next year."""
    if control is None:
        return
    trial = control.trials.get(active.mode)
    if trial is not None:
        for each, number in zip(CLASSES, by_class(trial, weed), strict=True):
            name = "not out yet" if each is None else f"at BBCH {int(each)}"
            yield NumberLine(f"live seed prevented, heads {name}", number)
    yield NumberLine("seedlings next year from older seed", control.carry_over)


def _trial_note(active: Active, control: WeedControl | None) -> str:
    if control is None or active.mode not in control.trials:
        return (
            f"No published trial of {active.name} on this weed by stage of head was "
            "found: no effect is told."
        )
    return control.note


def _gained(judgement: Judgement, without: int, good: int) -> int:
    """Good hours more if limit number ``without`` did not apply."""
    kept = [number for number in range(len(judgement.limits)) if number != without]
    again = judge(
        judgement.time,
        judgement.values[kept],
        [judgement.limits[number] for number in kept],
    )
    return int((again.verdict == Verdict.GOOD).sum()) - good


def _refused(day: FarmDay, judgement: Judgement) -> Iterator[RefusedLine]:
    """Values whose refusal leaves hours of the week unknown, the most costly first."""
    behind = refused_values(day.weather.frame, judgement)
    unknown = np.flatnonzero(judgement.verdict == Verdict.UNKNOWN)
    lacked = [each for hour in unknown.tolist() for each in behind[hour]]
    hours = Counter((each.time, each.quantity) for each in lacked)
    values = {(each.time, each.quantity): each for each in lacked}
    for which, count in hours.most_common():
        yield RefusedLine(values[which], count)


def _changes(day: FarmDay, paddock: Paddock, active: Active) -> Iterator[DateChange]:
    """The likely heading and close, with one thing moved at a time."""
    weed = day.farm.weeds[paddock.target]
    base = day.growth.projection(weed.id, paddock)
    begun = day.growth.break_of(paddock)
    if np.isnat(begun):
        return
    sd = float(base.belief.reach(0.0)[1][0, 0])
    for what, other in (
        (
            f"break {BREAK_MOVED} days earlier",
            _broken(day, paddock, begun - BREAK_MOVED * DAY),
        ),
        (
            f"break {BREAK_MOVED} days later",
            _broken(day, paddock, begun + BREAK_MOVED * DAY),
        ),
        ("paddock earlier by the stated uncertainty", _moved(base, -sd)),
        ("paddock later by the stated uncertainty", _moved(base, sd)),
    ):
        yield DateChange(
            what,
            _heading(other) - _heading(base),
            _close(other, paddock, active) - _close(base, paddock, active),
        )


def _broken(day: FarmDay, paddock: Paddock, begun: np.datetime64) -> Projection:
    """The paddock with another break of season, its looks read against that."""
    moved = replace(paddock, autumn_break=begun.astype("datetime64[D]").item())
    paddocks = tuple(moved if each == paddock else each for each in day.farm.paddocks)
    growth = replace(
        day.growth,
        farm=replace(day.farm, paddocks=paddocks),
        _cache={},
        _effects={},
        _scouting=None,
    )
    return growth.projection(paddock.target, moved)


def _moved(projection: Projection, shift: float) -> Projection:
    """The same with every paddock later by ``shift``, in °C d."""
    mean = projection.belief.mean.copy()
    mean[:, 0] += shift
    return replace(projection, belief=replace(projection.belief, mean=mean))


def _heading(projection: Projection) -> float:
    return float(projection.stage_dates((Stage.HEADING,)).likely[0])


def _close(projection: Projection, paddock: Paddock, active: Active) -> float:
    window = paddock_window(paddock, projection, active.mode)
    if window is None:
        return float("nan")
    with np.errstate(invalid="ignore"):
        return float(window_dates(window).closed.likely)
