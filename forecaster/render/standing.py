"""What pages in few words share: what presses most, where it all came from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.planning.next_step import Step
from forecaster.render import words
from forecaster.render.entries import URGENCY

if TYPE_CHECKING:
    from forecaster.domain.outlook import (
        ActiveOutlook,
        Outlook,
        PaddockOutlook,
        WeatherView,
    )
    from forecaster.render.words import LocalClock

_DOABLE = {Step.SPRAY: 0, Step.LOOK_AT_GATE: 1}
_NOT_NOW = {Step.DOES_NOT_CONTROL, Step.DONE, Step.TOO_LATE, Step.WAIT}


def pressing(paddock: PaddockOutlook) -> ActiveOutlook | None:
    """The active that asks for something: hours first, then by its window."""
    asking = [each for each in paddock.actives if each.step not in _NOT_NOW]
    return min(
        asking,
        key=lambda each: (_DOABLE.get(each.step, 2), URGENCY[each.status]),
        default=None,
    )


def counted(paddock: PaddockOutlook) -> bool:
    """Whether heads were counted so lately that the count still stands."""
    return paddock.look is not None and paddock.look.recent


def invented_words(weather: WeatherView, *, demo: bool) -> str:
    """That something is made up, before anything else is said; empty if nothing is."""
    if demo and weather.invented:
        return "DEMO FARM: farm, labels and weather are invented."
    if demo:
        return (
            "DEMO FARM: farm and labels are invented; the weather is another place's."
        )
    return "INVENTED WEATHER: do not spray by it." if weather.invented else ""


def made_words(outlook: Outlook, clock: LocalClock) -> str:
    """When the page was made, and from which weather."""
    weather = outlook.weather
    return (
        f"Made {clock.full(outlook.now)} from weather of {clock.hour(weather.issued)}, "
        f"{weather.age_hours:.0f} h old."
    )


def barred_words(paddock: PaddockOutlook) -> str:
    """Sides the wind must not come from: ``W to NNE``; *not known*, *none*, *any*."""
    if paddock.barred_wind is None:
        return "not known"
    if not paddock.barred_wind:
        return "none"
    return ", ".join(_arc(arc.first, arc.last) for arc in paddock.barred_wind)


def _arc(first: int, last: int) -> str:
    if (last - first) % 360 == 359:  # noqa: PLR2004 - the whole circle
        return "any"
    start, end = (words.side(float(bearing)) for bearing in (first, last))
    return start if start == end else f"{start} to {end}"
