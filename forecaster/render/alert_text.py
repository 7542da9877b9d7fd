"""Messages in words: a title, a line for a phone, and the whole of it.

Words are made when a message is sent, so that dates and ages are true then.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.letter import Letter
from forecaster.domain.alerts.records import Change, Rank
from forecaster.render import alert_words as say
from forecaster.render import words
from forecaster.render.phone import phone_line
from forecaster.render.phone_fit import Part, cut

if TYPE_CHECKING:
    from forecaster.domain.alerts.news import Item, News

SHOWN = 10
"""Windows told in full; of more, counts and the first ones."""
OLD_H = 6.0
"""[h] Weather older than this is told in the short line, too."""
AT_SITE = "Check wind and smoke at the site."
LABEL = "The label, the law and a look at the gate come first."
_NEVER = np.datetime64("9999-01-01", "s")
_FIRST = (
    Change.LAST_HOURS, Change.FEW_HOURS, Change.LAST_DAY, Change.CLOSING,
    Change.NOT_OPEN_YET, Change.OPENED, Change.OPENED_ON_FORECAST, Change.REOPENED,
    Change.HOURS_FOUND, Change.CLOSED, Change.PRESUMED_CLOSED,
)  # fmt: skip


def letter(news: News, key: str) -> Letter:
    """One message in words."""
    items = sorted(news.items, key=_urgency)
    title = cut(f"{news.farm}: {_headline(news, items)}", 120)
    return Letter(
        key=key,
        rank=news.rank,
        title=title,
        short=_short(news, items),
        text="\n".join([title, "", *_body(news, items)]) + "\n",
    )


def _urgency(item: Item) -> tuple[int, np.datetime64, str, str, str]:
    change = item.events[-1].change if item.events else Change.HEALTH
    place = _FIRST.index(change) if change in _FIRST else len(_FIRST)
    close = item.reading.close.likely if item.reading else None
    name = item.reading.paddock if item.reading else item.kept.key.paddock
    key = item.kept.key
    return place, _NEVER if close is None else close, name, key.weed, key.active


def _headline(news: News, items: list[Item]) -> str:
    if news.rank is Rank.RECEIPT:
        return "test: messages come through"
    if news.about_farm and not items:
        return say.farm_head(news.about_farm[0])
    if news.rank is Rank.DIGEST:
        return f"how the windows stand, {words.LocalClock(news.zone).day(news.now)}"
    if len(items) == 1:
        return f"{say.name(items[0])} {say.head(items[0])}"
    heads: dict[str, int] = {}
    for item in items:
        heads[say.head(item)] = heads.get(say.head(item), 0) + 1
    return "; ".join(f"{words.count(n, 'window')} {head}" for head, n in heads.items())


def _short(news: News, items: list[Item]) -> str:
    clock = words.LocalClock(news.zone)
    age = Part(_age(news) if not news.weather_age_h <= OLD_H else "", 4)
    if news.rank is Rank.RECEIPT:
        return phone_line(news.farm, [Part("a test: messages reach you here.", 0)])
    if not items:
        told = [Part(f"{say.farm_head(each)}.", spare)
                for spare, each in enumerate(news.about_farm)]  # fmt: skip
        return phone_line(news.farm, told or [Part(_quiet(news), 0)])
    first = items[0]
    parts = say.phone_parts(first, clock, age, usable=news.usable)
    if len(items) > 1:
        parts.append(Part(f"And {words.count(len(items) - 1, 'window')} more.", 1))
    hours = say.tells_hours(first, usable=news.usable)
    return phone_line(say.name(first), parts, hours=hours)


def _quiet(news: News) -> str:
    watched = words.count(len(news.standing), "window")
    return f"nothing new. {watched} watched."


def _age(news: News) -> str:
    if math.isnan(news.weather_age_h):
        return "No weather."
    return f"Weather {news.weather_age_h:.0f} h old."


def _body(news: News, items: list[Item]) -> list[str]:
    clock = words.LocalClock(news.zone)
    lines = [f"- {say.farm_line(each, clock)}" for each in news.about_farm]
    lines += _counts(items) if len(items) > SHOWN else []
    lines += [
        line
        for item in items[:SHOWN]
        for line in say.lines(item, clock, usable=news.usable)
    ]
    if len(items) > SHOWN:
        rest = len(items) - SHOWN
        lines.append(f"and {rest:,} more: forecaster outlook shows every paddock")
    if news.rank is Rank.DIGEST:
        lines += _digest(news, clock)
    if news.rank is Rank.RECEIPT:
        lines.append("This is a test: messages reach you through this channel.")
    if news.undelivered:
        earlier = words.count(news.undelivered, "earlier message")
        lines.append(f"{earlier} about this could not be delivered.")
    about_hours = bool(items) or bool(news.standing)
    end = [_age(news), *((AT_SITE, LABEL) if about_hours else ())]
    moment = f"Sent {clock.full(news.now)}."
    return [*lines, "", " ".join([*end, moment])]


def _counts(items: list[Item]) -> list[str]:
    found: dict[str, int] = {}
    for item in items:
        found[item.kept.phase.value] = found.get(item.kept.phase.value, 0) + 1
    return [", ".join(f"{number:,} {phase}" for phase, number in found.items()), ""]


def _digest(news: News, clock: words.LocalClock) -> list[str]:
    lines = [f"- {note}" for note in news.notes]
    if not news.usable:
        lines += ["", f"NO WEATHER to judge by: {_age(news)} Look at heads and sky."]
    watched = sorted(news.standing, key=_urgency)
    lines += ["", f"{words.count(len(watched), 'window')} watched:"] if watched else []
    if len(watched) > SHOWN:
        lines += _counts(watched)[:1]
        watched = [each for each in watched if each.kept.pressing]
    shown = watched[: 3 * SHOWN]
    lines += [f"- {say.standing(each, clock, usable=news.usable)}" for each in shown]
    if len(watched) > len(shown):
        lines.append(f"and {len(watched) - len(shown):,} more")
    return lines
