"""Snoozes in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.render.words import LocalClock, bullet, wrapped

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.records import Snooze

STILL_TOLD = (
    "What is closing or closed, or has few hours left, still comes through, and so "
    "does what concerns the whole farm. All else waits for the digest."
)


def end_words(moment: np.datetime64, zone: str) -> str:
    """``Tue 20 Oct 2026 06:00 AEDT (UTC+11:00)``."""
    clock = LocalClock(zone)
    offset = f"{clock.local(moment):%z}"
    return f"{clock.full(moment)} (UTC{offset[:3]}:{offset[3:5]})"


def name(snooze: Snooze, paddock: str) -> str:
    """``Creek Flat, glyphosate``."""
    return f"{paddock}, {snooze.active}" if snooze.active else paddock


def made(snooze: Snooze, paddock: str, odd: str, zone: str) -> str:
    """A new one, as it was understood."""
    told = f"{name(snooze, paddock)}: quiet until {end_words(snooze.until, zone)}."
    more = f" {odd[0].upper()}{odd[1:]}." if odd else ""
    return "\n".join([*wrapped(told + more), *wrapped(STILL_TOLD)]) + "\n"


def ended(snoozes: list[tuple[Snooze, str]]) -> str:
    """Those that were ended."""
    return "".join(f"{name(*each)}: told again from now on.\n" for each in snoozes)


def listing(snoozes: list[tuple[Snooze, str]], zone: str) -> str:
    """Those in force."""
    if not snoozes:
        return "No snooze is in force.\n"
    lines = []
    for snooze, paddock in snoozes:
        by = f", asked for by {snooze.by}" if snooze.by else ""
        said = f"{name(snooze, paddock)}: until {end_words(snooze.until, zone)}{by}"
        lines += bullet(said)
    return "\n".join(lines) + "\n"
