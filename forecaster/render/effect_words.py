"""What a spray would do, in words: a range with its likely middle, never a promise."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.outlook import Band, BlockView, DayEffect, EffectView
    from forecaster.render.words import LocalClock

NO_TRIAL = "not told: no published trial on this weed"
NOT_KNOWN = "not told: the season's warmth or its break is not known"
NO_PROMISE = "A trial's numbers, never a promise"


def effect_words(effect: EffectView, block: BlockView | None, clock: LocalClock) -> str:
    """The block to act on, if there is one, against the best day of the season."""
    if not effect.published:
        return NO_TRIAL
    told = []
    here = effect.of(block) if block else None
    if here is not None and (words := _whole(here)):
        told.append(f"sprayed {clock.hour(here.at)} {words}")
    best = effect.best
    if best is not None and best.prevented is not None:
        share = _band(best.prevented, "of live seed") if told else _whole(best)
        told.append(f"on the best day by the model, {clock.day(best.at)}, {share}")
    elif told:
        told.append("the best day of the season is not known")
    return f"{'; '.join(told)}. {NO_PROMISE}" if told else NOT_KNOWN


def _whole(effect: DayEffect) -> str:
    """Seed prevented and next year's seedlings; nothing where they are not known."""
    if effect.prevented is None or effect.seedlings is None:
        return ""
    return (
        f"it would prevent {_band(effect.prevented, 'of live seed')} and leave "
        f"{_band(effect.seedlings, 'as many seedlings')} next year"
    )


def _band(band: Band, of_what: str) -> str:
    """``0 to 94 % of live seed (likely 43)``."""
    low, likely, high = (
        f"{100 * share:.0f}" for share in (band.low, band.likely, band.high)
    )
    span = low if low == high else f"{low} to {high}"
    return f"{span} % {of_what} (likely {likely})"
