"""Stock in words: what grazing did to the heads, when stock must leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.grazing import GrazingCase, How
from forecaster.domain.planning.stock_off import ClashKind, StockStatus
from forecaster.render import words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.growth.grazing import GrazingEffect
    from forecaster.domain.outlook import StockView
    from forecaster.domain.planning.stock_off import Clash, Heading, StockOff

HOW_WORDS = {How.HARD: "hard and even", How.PATCHY: "patchy", How.LAX: "lax"}


def entries(stock: StockView) -> Iterator[tuple[str, str]]:
    """Label and words of each line of a paddock."""
    if stock.grazing.case is not GrazingCase.NONE:
        yield "grazed", grazing_words(stock.grazing, stock.grazing_rate)
    yield "stock off", stock_off_words(stock.off)


def grazing_words(effect: GrazingEffect, rate: float) -> str:
    """``hard and even to 18 Sep at 35 DSE/ha: … (assumed)``."""
    grazed = effect.grazed
    assert grazed is not None  # noqa: S101 - a case other than none has one
    end = "stock still on" if grazed.end is None else f"to {words.date(grazed.end)}"
    at = "" if np.isnan(rate) else f", {rate:.0f} DSE/ha"
    return f"{HOW_WORDS[grazed.how]}, {end}{at}: {_effect_words(effect)}"


def _effect_words(effect: GrazingEffect) -> str:
    if effect.case is GrazingCase.SPELLED:
        return "spelled since winter, no change to the heads"
    if effect.change is None:
        return "its effect on the heads cannot be told"
    early = " early head emergence," if effect.case is GrazingCase.LATE else ""
    until = f"into{early} " if early else ""
    later = f", {effect.shift:.0f} °C d later" if effect.shift else ""
    return f"{until}spread of heads times {effect.spread:g}{later} (assumed)"


def stock_off_words(off: StockOff) -> str:
    """``3 to 10 Oct (heading 24 Oct, 20 to 28 Oct): overdue by 2 days; …``."""
    if off.likely is None:
        return "cannot be told: heading is not known, or comes after the weather ends"
    text = f"{words.date_span(*off.likely)} (heading {heading_words(off.heading)})"
    said = [f"{text}: {status_words(off)}", *map(clash_words, off.clashes)]
    return "; ".join(said)


def heading_words(heading: Heading) -> str:
    """``24 Oct, 20 to 28 Oct``."""
    early, likely, late = heading
    assert likely is not None  # noqa: S101 - the caller has a band
    if early is not None and late is not None:
        return f"{words.date(likely)}, {words.date_span(early, late)}"
    first, last = (
        "later" if each is None else words.date(each) for each in (early, late)
    )
    return f"{words.date(likely)}, {first} to {last}"


def status_words(off: StockOff) -> str:
    """The status, with the days it is about."""
    left = off.days_left or 0
    if off.status is StockStatus.OVERDUE:
        return f"OVERDUE by {_days(-left)}"
    if off.status is StockStatus.DUE:
        return (
            "DUE NOW, the last day is today"
            if left == 0
            else f"DUE NOW, {_days(left)} left"
        )
    if off.status is StockStatus.SOON:
        return f"soon, within {off.alert} days"
    if off.status is StockStatus.NO_STOCK:
        return "no stock known here"
    if off.status is StockStatus.TOO_LATE:
        return "too late to even the heads: they are out, with stock on"
    return off.status.value


def clash_words(clash: Clash) -> str:
    """``Ewes planned here until 20 Oct``."""
    stay = clash.stay
    if clash.kind is ClashKind.STAYS:
        return f"CLASH: {stay.mob} planned here until {words.date(stay.end)}"
    span = words.date_span(stay.start, stay.end)
    return f"CLASH: {stay.mob} planned here {span}, before it is sprayed"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
