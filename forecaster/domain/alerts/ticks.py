"""When a check or a delivery is due, told from the UTC clock alone.

The clock may jump: a computer sleeps, a battery is flat, somebody sets the time. So
nothing here counts on the next moment lying after the last. Whatever was missed is
made good by one run, never by one run for each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Beat:
    """A moment that comes back, in UTC: no local clock changes it."""

    every_s: int
    """[s] from one to the next."""
    past_s: int
    """[s] after a whole multiple of ``every_s`` since 1970."""


CHECK = Beat(every_s=3600, past_s=7 * 60)
"""Minute 7: at the full hour everyone asks the weather services."""
DELIVER = Beat(every_s=300, past_s=0)
SLACK_S = 120
"""[s] A clock put right by less than this has not gone wrong. With an hour between
checks it keeps them at most 62 minutes apart."""


def latest(now: np.datetime64, beat: Beat) -> np.datetime64:
    """The last moment of the beat up to ``now``; both UTC, ``datetime64[s]`` out."""
    turns = (_seconds(now) - beat.past_s) // beat.every_s
    return np.datetime64(turns * beat.every_s + beat.past_s, "s")


def due(now: np.datetime64, last: np.datetime64 | None, strike: np.datetime64) -> bool:
    """Whether a run has to start at ``now``.

    ``last`` is when the last one started, None before the first; ``strike`` is the
    last moment up to ``now`` at which one should. All UTC ``datetime64``. A clock set
    back by more than the slack makes one run due at once: how long ago the last one
    really was can no longer be told.
    """
    if last is None:
        return True
    return _seconds(last) - _seconds(now) > SLACK_S or bool(last < strike)


def overslept(next_look: np.datetime64, now: np.datetime64, every_s: float) -> bool:
    """Whether the next look at the clock lies further off than looks are apart.

    It does where the clock was set back meanwhile: who waits for ``next_look`` then
    sleeps for as long as it was set back. UTC ``datetime64``; ``every_s`` [s].
    """
    return _seconds(next_look) - _seconds(now) > 2 * every_s


def _seconds(moment: np.datetime64) -> int:
    """Whole seconds since 1970."""
    return int(moment.astype("datetime64[s]").astype(np.int64))
