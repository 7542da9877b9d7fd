"""The numbers of the alert rules; values and reasons: ``config/alerts.toml``."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rules:
    """Leads, dead bands, ages and repeats. Days [d] and hours [h] as named."""

    band_least_d: float
    band_most_d: float
    band_jitters: float
    """Dead band in standard deviations of the edge from forecast to forecast."""
    votes: int
    """Distinct forecasts that a change has to be seen in where it has to wait."""
    wait_at_most_h: float
    """For an opening that rests on forecast hours."""
    moved_d: float
    """A close moved by this much is told again …"""
    moved_every_h: float
    """… at most this often."""
    hours_every_h: float
    """Between two messages that hours were found."""
    spare_hours_h: float
    """Hours above those needed below which few are left."""
    ageing_h: float
    stale_h: float
    """Age of the forecast's issue."""
    stale_every_h: float
    clock_back_s: float
    """How far the clock may be behind what was kept."""
    clock_off_s: float
    """How far it may differ from the time of a weather service."""
    off_periods: float
    """Gaps between checks longer than this many periods are told."""
    urgent_late_min: float
    """An urgent message unsent for longer fails the check."""
    votes_span_h: float
    """Checks this far apart need no second forecast."""
    period_h: float
    """Between two checks: 1 or 24."""
