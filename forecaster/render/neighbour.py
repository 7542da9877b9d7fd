"""A note to a neighbour about a planned block: what is meant, never a promise."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.render import words
from forecaster.render.standing import invented_words

if TYPE_CHECKING:
    from forecaster.domain.notice import Notice
    from forecaster.domain.outlook import BlockView, NearView

ASK = (
    "If you have something out that it could hurt, or want to know more, please ring "
    + "." * 20
)


def text(notice: Notice) -> str:
    """The note, ready to be sent; whom to ring is left to be filled in.

    Raises
    ------
    ValueError
        If it is about a spray that is done: there is nothing to tell ahead.
    """
    outlook, block = notice.outlook, notice.block
    if block is None:
        raise ValueError("a note is about a planned block")
    clock = words.LocalClock(outlook.place.zone)
    zone = clock.local(block.start).tzname()
    plan = (
        f"On {outlook.farm} we plan to spray the paddock {notice.paddock.name} with "
        f"{notice.active.active}, {clock.span(block.start, block.end)} ({zone}), if "
        "the day is fit."
    )
    found = [
        invented_words(outlook.weather, demo=outlook.demo),
        "Hello," if notice.near is None else f"To: {notice.near.name}",
        plan,
        _wind(block),
        _side(notice.near),
        _promise(block),
        ASK,
    ]
    return "\n".join(each for each in found if each) + "\n"


def _promise(block: BlockView) -> str:
    return (
        "It is a plan, not a promise; it may move or fall away. The chance that the "
        f"weather stays fit then: {words.in_ten(block.chance)}. It is judged again at "
        "the paddock, before and while we spray."
    )


def _wind(block: BlockView) -> str:
    if math.isnan(block.wind_from):
        return "Which way the wind will blow is not known yet."
    away = words.side((block.wind_from + 180) % 360)
    return (
        f"The wind is expected from {words.side(block.wind_from)}, "
        f"{words.kmh_span(block.wind_speed)} km/h at 10 m, so towards {away}."
    )


def _side(near: NearView | None) -> str:
    wrong = "It will not be done while the wind blows towards you"
    if near is None:
        return f"{wrong}."
    if math.isnan(near.bearing):
        return f"Your place touches the paddock. {wrong}."
    towards = words.side((near.bearing + 180) % 360)
    return (
        f"Your place lies about {near.distance:.0f} m {words.side(near.bearing)} of "
        f"it. {wrong}, that is from about {towards}."
    )
