"""How soon each change has to be read, and the name of each step."""

from __future__ import annotations

from forecaster.domain.alerts.records import Change, Phase, Rank

STEPS = {
    Phase.OPENING_SOON: Change.SOON,
    Phase.OPEN: Change.OPENED,
    Phase.CLOSING: Change.CLOSING,
    Phase.CLOSED: Change.CLOSED,
}
"""Steps forward, by the phase they lead to."""

BACK = {
    (Phase.OPENING_SOON, Phase.NOT_OPEN): Change.NOT_SO_SOON,
    (Phase.OPEN, Phase.NOT_OPEN): Change.NOT_OPEN_YET,
    (Phase.OPEN, Phase.OPENING_SOON): Change.NOT_OPEN_YET,
    (Phase.CLOSING, Phase.NOT_OPEN): Change.NOT_OPEN_YET,
    (Phase.CLOSING, Phase.OPENING_SOON): Change.NOT_OPEN_YET,
    (Phase.CLOSING, Phase.OPEN): Change.MORE_TIME,
    (Phase.CLOSED, Phase.NOT_OPEN): Change.REOPENED,
    (Phase.CLOSED, Phase.OPENING_SOON): Change.REOPENED,
    (Phase.CLOSED, Phase.OPEN): Change.REOPENED,
    (Phase.CLOSED, Phase.CLOSING): Change.REOPENED,
}
"""Steps back, by the phases they lead from and to."""

_RANKS = {
    Change.CLOSING: Rank.URGENT,
    Change.FEW_HOURS: Rank.URGENT,
    Change.LAST_DAY: Rank.URGENT,
    Change.LAST_HOURS: Rank.URGENT,
    Change.OPENED: Rank.PUSH,
    Change.OPENED_ON_FORECAST: Rank.PUSH,
    Change.CLOSED: Rank.PUSH,
    Change.PRESUMED_CLOSED: Rank.PUSH,
    Change.NOT_OPEN_YET: Rank.PUSH,
    Change.REOPENED: Rank.PUSH,
    Change.HOURS_FOUND: Rank.PUSH,
    Change.STOCK_EARLY: Rank.PUSH,
    Change.WEATHER_BACK: Rank.PUSH,
    Change.CLOCK_WRONG: Rank.PUSH,
    Change.HISTORY_LOST: Rank.PUSH,
    Change.RESTORED: Rank.PUSH,
    Change.TROUBLE: Rank.PUSH,
}


def rank_of(change: Change) -> Rank:
    """How soon it has to be read, where nothing else decides that."""
    return _RANKS.get(change, Rank.DIGEST)
