"""One paddock as a page of HTML: its season, its week and every reason.

The first page is for the eye, what follows says the same in words and hour by hour.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, NamedTuple

from forecaster.domain.weather import HOUR
from forecaster.render import entries, head_words, season_svg, week_svg, words
from forecaster.render.templating import page as filled
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from forecaster.domain.paddock_hours import HourView, PaddockHours
    from forecaster.domain.season_page import SeasonPage


class Stretch(NamedTuple):
    """Hours of one verdict for one reason, in words."""

    when: str
    verdict: str
    wind: str
    delta_t: str
    reasons: str


def render(page: SeasonPage, weeks: Sequence[PaddockHours]) -> str:
    """The page; ``weeks`` hold the actives of the paddock, in its order.

    Same values, same bytes.
    """
    from markupsafe import Markup

    clock = LocalClock(page.place.zone)
    paddock = page.paddock
    counted = entries.counted_on(paddock, clock)
    shown = [week for week in weeks if week.hours]
    return filled(
        "paddock.html.j2",
        page=page,
        title=f"{paddock.name}, {page.farm}: season and week",
        heading=entries.title(paddock),
        banner=head_words.banner(demo=page.demo, invented=page.weather.invented),
        printed=clock.full(page.now),
        age=f"{page.weather.age_hours:.0f} h old",
        season=Markup(season_svg.render(page)),  # noqa: S704 - our own drawing
        week=Markup(week_svg.render(shown, paddock)) if shown else None,  # noqa: S704 - likewise
        said=entries.paddock_entries(paddock, clock),
        actives=[
            (active.active, entries.active_entries(active, clock, counted))
            for active in paddock.actives
        ],
        tables=[(week.active, stretches(week, clock)) for week in shown],
    )


def stretches(week: PaddockHours, clock: LocalClock) -> list[Stretch]:
    """The hours of a week, those of one verdict and one deciding limit as one."""
    return [
        _stretch(list(run), clock) for _, run in itertools.groupby(week.hours, key=_why)
    ]


def _why(hour: HourView) -> tuple[int, str, int]:
    deciding = hour.reasons[0]
    return int(hour.verdict), deciding.limit.id, int(deciding.why)


def _stretch(run: Sequence[HourView], clock: LocalClock) -> Stretch:
    worst = min(run, key=lambda hour: _margin(hour.reasons[0].margin))
    towards = dict.fromkeys(name for hour in run for name in hour.towards)
    away = f" (downwind: {', '.join(towards)})" if towards else ""
    return Stretch(
        when=clock.span(run[0].time, run[-1].time + HOUR),
        verdict=words.VERDICT_WORDS[run[0].verdict],
        wind=_wind(run),
        delta_t=_span([hour.delta_t for hour in run], words.number_span),
        reasons=words.reasons_words(worst.reasons) + away,
    )


def _wind(run: Sequence[HourView]) -> str:
    """``N to SW 8 to 15``, from the first side to the last."""
    ends = list(dict.fromkeys(words.side(hour.wind_from) for hour in run))
    side = ends[0] if len(ends) == 1 else f"{ends[0]} to {ends[-1]}"
    return f"{side} {_span([hour.wind_speed for hour in run], words.kmh_span)}"


def _span(values: Sequence[float], said: Callable[[tuple[float, float]], str]) -> str:
    known = [value for value in values if not math.isnan(value)]
    return said((min(known), max(known))) if known else "not known"


def _margin(value: float) -> float:
    return -math.inf if math.isnan(value) else value
