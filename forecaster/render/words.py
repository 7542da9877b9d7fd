"""How times, winds, chances and reasons are said; kilometres an hour live here."""

from __future__ import annotations

import datetime as dt
import math
import textwrap
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from forecaster.domain.air.wind import compass_word
from forecaster.domain.sourced import Mark
from forecaster.domain.spraying.hours import Why
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.outlook import Likely
    from forecaster.domain.spraying.hours import Reason

WIDTH = 80
"""Columns of a screen."""
KMH = 3.6
"""Kilometres an hour in a metre a second."""

VERDICT_WORDS = {
    Verdict.GOOD: "good",
    Verdict.LOOK_FIRST: "look first",
    Verdict.HOLD: "hold",
    Verdict.UNKNOWN: "unknown",
}
RISK_WORDS = ("low", "moderate", "high")

_WINDS = {Quantity.WIND_10M, Quantity.WIND_2M, Quantity.GUST_10M}
_YES_NO = {Quantity.WIND_SIDE, Quantity.LIGHT_WIND_SIDE}
_UNITS = {
    Quantity.DELTA_T: ("", 1),
    Quantity.WET_BULB: (" °C", 1),
    Quantity.AIR_TEMPERATURE: (" °C", 1),
    Quantity.RELATIVE_HUMIDITY: (" %", 0),
    Quantity.LOWEST_TEMPERATURE_48H: (" °C", 1),
    Quantity.SUN_ELEVATION: ("°", 0),
    Quantity.RAIN_FREE_HOURS: (" h", 0),
    Quantity.RAIN_CHANCE_AHEAD: (" %", 0),
    Quantity.RAIN_LAST_2H: (" mm", 1),
    Quantity.RAIN_LAST_24H: (" mm", 0),
    Quantity.RAIN_LAST_72H: (" mm", 0),
    Quantity.WEATHER_AGE: (" h", 0),
    Quantity.STEP_WIDTH: (" h", 0),
}
_SHORT = {
    Quantity.WIND_10M: "wind at 10 m",
    Quantity.WIND_2M: "wind at 2 m",
    Quantity.GUST_10M: "gusts at 10 m",
    Quantity.DELTA_T: "Delta T",
    Quantity.WET_BULB: "frost air: wet bulb",
    Quantity.AIR_TEMPERATURE: "air",
    Quantity.RELATIVE_HUMIDITY: "humidity",
    Quantity.LOWEST_TEMPERATURE_48H: "lowest in 48 h",
    Quantity.RAIN_FREE_HOURS: "dry hours after",
    Quantity.RAIN_CHANCE_AHEAD: "rain chance ahead",
    Quantity.RAIN_LAST_2H: "wet leaves: rain in 2 h",
    Quantity.RAIN_LAST_24H: "wet ground: rain in 24 h",
    Quantity.RAIN_LAST_72H: "wet ground: rain in 72 h",
    Quantity.WEATHER_AGE: "forecast age",
    Quantity.STEP_WIDTH: "forecast steps of",
}


class LocalClock:
    """Local times of one zone, for printing only."""

    def __init__(self, zone: str) -> None:
        self.zone = zone
        self._zone = ZoneInfo(zone)

    def local(self, moment: np.datetime64) -> dt.datetime:
        """The wall clock at a UTC moment."""
        seconds = int(moment.astype("datetime64[s]").astype(np.int64))
        utc = dt.datetime(1970, 1, 1, tzinfo=dt.UTC) + dt.timedelta(seconds=seconds)
        return utc.astimezone(self._zone)

    def day(self, moment: np.datetime64) -> str:
        """``12 Oct``."""
        local = self.local(moment)
        return f"{local.day} {local:%b}"

    def weekday(self, moment: np.datetime64) -> str:
        """``Mon 12 Oct``."""
        return f"{self.local(moment):%a} {self.day(moment)}"

    def hour(self, moment: np.datetime64) -> str:
        """``Mon 12 Oct 13:00``."""
        return f"{self.weekday(moment)} {self.local(moment):%H:%M}"

    def full(self, moment: np.datetime64) -> str:
        """``Mon 12 Oct 2026 13:00 AEDT``."""
        local = self.local(moment)
        return f"{self.weekday(moment)} {local:%Y %H:%M} {local.tzname()}"

    def span(self, start: np.datetime64, end: np.datetime64) -> str:
        """``Wed 14 Oct 12:00-18:00``, with the day of the end where it differs."""
        first, last = self.local(start), self.local(end)
        if last.date() == first.date():
            return f"{self.hour(start)}-{last:%H:%M}"
        return f"{self.hour(start)} - {self.hour(end)}"


def likely_range(edge: Likely, clock: LocalClock) -> str:
    """``14 Oct (30 Sep to 27 Oct)``; *later* where the weather ends first."""
    likely, early, late = (
        "later" if day is None else clock.day(day)
        for day in (edge.likely, edge.early, edge.late)
    )
    return f"{likely} ({early} to {late})"


def calendar_day(day: np.datetime64) -> dt.date:
    """A ``datetime64`` of days as a date."""
    return dt.date.fromisoformat(str(day.astype("datetime64[D]")))


def date(day: np.datetime64) -> str:
    """A calendar date without its year: ``14 Oct``."""
    value = day.astype("datetime64[D]").item()
    return f"{value.day} {value:%b}"


def date_span(first: np.datetime64, last: np.datetime64) -> str:
    """``3 to 10 Oct``, or ``29 Sep to 6 Oct``."""
    start, end = date(first), date(last)
    if first.astype("datetime64[M]") == last.astype("datetime64[M]"):
        start = start.split()[0]
    return f"{start} to {end}"


def in_ten(share: float) -> str:
    """``7 in 10``; never a bare percentage."""
    if math.isnan(share):
        return "unknown"
    tenths = math.floor(share * 10 + 0.5)
    if tenths == 0:
        return "under 1 in 20"
    return "over 9 in 10" if tenths == 10 else f"{tenths} in 10"  # noqa: PLR2004 - ten in ten is never said


def count(number: int, noun: str, plural: str = "") -> str:
    """``1 day``, ``4 days``; ``plural`` where it is not the noun with an s."""
    return f"{number:,} {noun if number == 1 else plural or f'{noun}s'}"


def tenths(share: float) -> str:
    """The same for a narrow column: ``7``, ``<1``, ``>9``, ``-`` where unknown."""
    if math.isnan(share):
        return "-"
    number = math.floor(share * 10 + 0.5)
    if number == 0:
        return "<1"
    return ">9" if number == 10 else str(number)  # noqa: PLR2004 - as in_ten


FIRM_DAYS = 3.0
"""[d] beyond this lead a block is provisional: hourly wind is worth reading for two
to three days. Assumed."""
OUTLOOK_DAYS = 7.0
"""[d] beyond this it is only an outlook. Assumed."""


def firmness(lead_days: float) -> str:
    """*firm*, *provisional* beyond three days, *outlook only* beyond seven."""
    if math.isnan(lead_days) or lead_days > OUTLOOK_DAYS:
        return "outlook only"
    return "provisional" if lead_days > FIRM_DAYS else "firm"


def side(bearing: float) -> str:
    """``SW``, or *calm* where there is no side."""
    if math.isnan(bearing):
        return "calm"
    return "".join(part[0] for part in compass_word(bearing).split("-")).upper()


def kmh(speed: float) -> str:
    """``16``; a dash where unknown."""
    return "-" if math.isnan(speed) else f"{speed * KMH:.0f}"


def kmh_span(span: tuple[float, float]) -> str:
    """``14`` or ``8 to 14``."""
    low, high = kmh(span[0]), kmh(span[1])
    return low if low == high else f"{low} to {high}"


def number_span(span: tuple[float, float]) -> str:
    """``4.0`` or ``3.9 to 6.3``."""
    low, high = (f"{value:.1f}" for value in span)
    return low if low == high else f"{low} to {high}"


def authority(limit: Limit) -> str:
    """Whose number a limit is."""
    if limit.rank is Rank.LAW:
        return "the label" if "." in limit.id else "your care distances"
    if limit.stated.mark is Mark.USER:
        return "the farm's own choice"
    return "advice" if limit.rank is Rank.ADVICE else "what can be judged"


def value_words(quantity: Quantity, value: float) -> str:
    """A quantity with its unit: ``14 km/h``, ``6.3``, ``high``."""
    if math.isnan(value):
        return "not known"
    if quantity in _WINDS:
        return f"{value * KMH:.0f} km/h"
    if quantity is Quantity.INVERSION_RISK:
        return RISK_WORDS[int(value)]
    unit, digits = _UNITS.get(quantity, ("", 1))
    return f"{value:.{digits}f}{unit}"


def short(quantity: Quantity) -> str:
    """A quantity in a word or two."""
    return _SHORT.get(quantity, quantity.value)


def unit_of(quantity: Quantity) -> tuple[str, float]:
    """The printed unit with its space, and what turns the unit inside into it."""
    if quantity in _WINDS:
        return " km/h", KMH
    return _UNITS.get(quantity, ("", 1))[0], 1.0


def reasons_words(reasons: Sequence[Reason]) -> str:
    """Several reasons in one line, each said once."""
    return "; ".join(dict.fromkeys(reason_words(reason) for reason in reasons))


def reason_words(reason: Reason) -> str:
    """Why an hour is what it is, in one clause."""
    limit = reason.limit
    name = _SHORT.get(limit.quantity, limit.words)
    if reason.why is Why.UNCONFIRMED:
        return f"{name}: no number typed and confirmed from the label"
    if reason.why is Why.MISSING:
        return f"{name} not known"
    if limit.quantity in _YES_NO or limit.quantity is Quantity.SUN_ELEVATION:
        return _plain_words(reason)
    if limit.quantity is Quantity.INVERSION_RISK:
        return f"inversion risk {value_words(limit.quantity, reason.value)}"
    value, bound = _told_apart(limit, reason.value)
    relation = _relation(limit, outside=reason.why is Why.OUTSIDE)
    return f"{name} {value} {relation} {bound} ({authority(limit)})"


def _told_apart(limit: Limit, value: float) -> tuple[str, str]:
    """Value and bound, with a digit more where rounding would make them equal."""
    shown = value_words(limit.quantity, value)
    bound = value_words(limit.quantity, limit.bound)
    if shown != bound or value == limit.bound:
        return shown, bound
    scale = KMH if limit.quantity in _WINDS else 1.0
    unit = " km/h" if limit.quantity in _WINDS else _UNITS[limit.quantity][0]
    return f"{value * scale:.2f}{unit}", f"{limit.bound * scale:.2f}{unit}"


def _relation(limit: Limit, *, outside: bool) -> str:
    if limit.side is Side.MIN:
        return "under" if outside else "at or over"
    return "over" if outside else "at or under"


def _plain_words(reason: Reason) -> str:
    outside = reason.why is Why.OUTSIDE
    return {
        Quantity.WIND_SIDE: (
            "wind towards a sensitive area" if outside else "wind away from care areas"
        ),
        Quantity.LIGHT_WIND_SIDE: (
            "under 11 km/h any side may be downwind"
            if outside
            else "wind strong enough to trust its side"
        ),
        Quantity.SUN_ELEVATION: "dark" if outside else "daylight",
    }[reason.limit.quantity]


def wrapped(text: str, width: int = WIDTH) -> list[str]:
    """Lines of at most a screen's width."""
    return textwrap.wrap(text, width)


def bullet(text: str) -> list[str]:
    """The same with a dash before the first and the rest set under it."""
    return textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ")


def under(texts: list[str]) -> list[str]:
    """What stands below a heading, set in; the rest of each set in further."""
    return [
        line
        for text in texts
        for line in textwrap.wrap(
            text, WIDTH, initial_indent="  ", subsequent_indent="    "
        )
    ]
