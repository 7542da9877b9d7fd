"""Wind, its changes and tanks, as they are typed."""

from __future__ import annotations

import datetime as dt
import math
import re
from itertools import pairwise
from typing import TYPE_CHECKING

from forecaster.domain.air.wind import COMPASS_WORDS
from forecaster.domain.record.job import Tank, Wind, WindChange
from forecaster.errors import UsageError
from forecaster.render.words import LocalClock
from forecaster.service.moments import local_day, parse_moment
from forecaster.settings.names import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from forecaster.domain.record.job import Job

KMH = 3.6
STRONGEST = 150.0
"""[km/h] A stronger one is a slip of the pen. Assumed."""
_SIDES = {
    "".join(part[0] for part in word.split("-")).upper(): number * 22.5
    for number, word in enumerate(COMPASS_WORDS)
} | {word.upper(): number * 22.5 for number, word in enumerate(COMPASS_WORDS)}
_WIND = re.compile(r"([A-Za-z-]+)\s+(\d+(?:\.\d+)?)\s*(km/h|m/s|)", re.ASCII)
_CLOCK = r"(\d{1,2}:\d\d(?:\+\d\d:\d\d)?)"
"""With the offset where the clock shows a time twice."""
_CHANGE = re.compile(rf"{_CLOCK}\s+(.+)", re.ASCII)
_TANK = re.compile(
    rf"{_CLOCK}\s*(?:-|to)\s*{_CLOCK}"
    r"(?:\s+(\d+(?:\.\d+)?)\s*ha)?(?:\s+(\d+(?:\.\d+)?)\s*L)?",
    re.ASCII | re.IGNORECASE,
)
_DAY = dt.timedelta(days=1)


def wind_of(text: str, what: str) -> Wind | None:
    """``SW 16`` (km/h), ``SW 4.5 m/s`` or ``calm``; None where it is empty.

    Raises
    ------
    UsageError
        If it is none of them.
    """
    text = " ".join(text.split())
    if not text:
        return None
    if text.casefold() == "calm":
        return Wind(0.0, math.nan, "calm")
    found = _WIND.fullmatch(text)
    side = _SIDES.get(found[1].upper()) if found else None
    if found is None or side is None:
        raise UsageError(
            f"{what} {plain(text)}: allowed is the side it came from and km/h, such as "
            '"SW 16", or "SW 4.5 m/s", or "calm"'
        )
    ms = found[3] == "m/s"
    speed = number_of(found[2], what, 0, STRONGEST / KMH if ms else STRONGEST)
    typed = f"{found[1]} {found[2]} {found[3] or 'km/h'}"
    return Wind(speed if ms else speed / KMH, side, typed)


def changes_of(texts: Sequence[str], job: Job, zone: str) -> tuple[WindChange, ...]:
    """``14:30 SW 16``: the wind from then on, in the order of time.

    Raises
    ------
    UsageError
        If one is none, lies outside the job, or two are of one moment.
    """
    found = []
    for text in texts:
        parts = _CHANGE.fullmatch(text.strip())
        wind = wind_of(parts[2], "--wind") if parts else None
        if parts is None or wind is None:
            raise UsageError(f'--wind {plain(text)}: write it like "14:30 SW 16"')
        found.append(WindChange(_at(parts[1], job, zone, "--wind"), wind))
    found.sort(key=lambda each: each.at)
    twice = next((a.at for a, b in pairwise(found) if a.at == b.at), None)
    if twice is not None:
        when = LocalClock(zone).full(twice)
        raise UsageError(f"--wind: two winds are told for {when}; keep the right one")
    return tuple(found)


def tanks_of(texts: Sequence[str], job: Job, zone: str) -> tuple[Tank, ...]:
    """``12:00-13:10 25 ha 1500 L``; hectares and litres may be left out.

    Raises
    ------
    UsageError
        If one is none, lies outside the job or begins before the last one ended.
    """
    found = []
    for text in texts:
        parts = _TANK.fullmatch(text.strip())
        if parts is None:
            raise UsageError(
                f'--tank {plain(text)}: write it like "12:00-13:10 25 ha" or '
                '"12:00-13:10 25 ha 1500 L"'
            )
        start, finish = (_at(parts[n], job, zone, "--tank") for n in (1, 2))
        if finish <= start:
            raise UsageError(f"--tank {plain(text)}: it ends before it begins")
        hectares = number_of(parts[3], "--tank", 0, 20_000) if parts[3] else math.nan
        litres = number_of(parts[4], "--tank", 0, 100_000) if parts[4] else math.nan
        found.append(Tank(start, finish, litres, hectares))
    found.sort(key=lambda each: each.start)
    if any(later.start < before.finish for before, later in pairwise(found)):
        raise UsageError("--tank: two tanks overlap; correct their hours")
    return tuple(found)


def number_of(text: str, what: str, low: float, high: float) -> float:
    """A number within bounds.

    Raises
    ------
    UsageError
        If it is none.
    """
    good = re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,6})?", text)
    if not good or not low <= float(text) <= high:
        raise UsageError(
            f"{what} {plain(text)}: allowed is a number from {low:g} to {high:g}, "
            "without its unit"
        )
    return float(text)


def _at(clock: str, job: Job, zone: str, what: str) -> np.datetime64:
    """The moment of a wall-clock time inside the job; past midnight on the next day.

    A day on which the clock does not show that time, or shows it twice, is no hindrance
    where the job holds it on the other.
    """
    hours, _, rest = clock.partition(":")
    day, refused = local_day(job.start, zone), False
    for each in (day, day + _DAY):
        try:
            moment = parse_moment(f"{each}T{hours.zfill(2)}:{rest}", zone, what)
        except UsageError:
            refused = True
            continue
        if job.start <= moment <= job.finish:
            return moment
    local = LocalClock(zone)
    span = f"{local.full(job.start)} to {local.full(job.finish)}"
    if refused:
        raise UsageError(
            f"{what} {clock} is no one moment of the job, {span}: the clock does not "
            f"show it, or shows it twice (daylight saving changes); name the offset, "
            f"such as {clock[:5]}+11:00"
        )
    raise UsageError(
        f"{what} {clock} lies outside the job, {span}; correct it, or start and finish"
    )
