"""What stands at the top and the foot of every page of the outlook."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.render import words

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import Outlook
    from forecaster.render.words import LocalClock


def banner(*, demo: bool, invented: bool) -> str:
    """What of farm and weather is invented; empty where nothing is."""
    if demo and not invented:
        return (
            "DEMO FARM: its paddocks, people and labels are invented; the weather is "
            "that of another place."
        )
    if demo:
        return (
            "DEMO FARM: its paddocks, people, labels and weather are invented, and it "
            "is shown at its own date."
        )
    if invented:
        return "INVENTED WEATHER: the demo's, not your own. Do not spray by it."
    return ""


def demo_lines(*, demo: bool) -> list[str]:
    """The banner over a page of the demo farm that shows no weather; else nothing."""
    return words.wrapped(banner(demo=True, invented=True)) if demo else []


def title(outlook: Outlook, clock: LocalClock) -> str:
    """The farm and the end of the hours judged."""
    return f"{outlook.farm}: spray outlook to {clock.hour(outlook.until)}"


def weather(outlook: Outlook, clock: LocalClock) -> str:
    """Where the weather came from, and how old it is."""
    told = outlook.weather
    return (
        f"Weather: {told.source}, newest {clock.hour(told.issued)}, "
        f"{told.age_hours:.0f} h old ({told.licence}); wind at 10 m; season on "
        f"{told.traces} {'trace' if told.traces == 1 else 'traces'}."
    )


def season_break(outlook: Outlook) -> str:
    """The break of the season, and how it is known."""
    broke = outlook.season_break
    when = "not known" if broke is None else date(broke)
    return f"Break of season: {when}, {outlook.season_break_how}."


def date(day: np.datetime64) -> str:
    """A calendar date, no clock: ``3 May 2026``."""
    value = day.astype("datetime64[D]").item()
    return f"{value.day} {value:%B %Y}"


def behind(outlook: Outlook) -> list[str]:
    """The farm's own choices and the weather in detail."""
    found = []
    for choice in outlook.own_choices:
        does = "holds at" if choice.holds else "set to"
        found.append(
            f"{choice.limit} {does} {choice.stated.value:g} {choice.stated.unit}: "
            f"{choice.stated.source}"
        )
    return [*found, *outlook.weather.notes]
