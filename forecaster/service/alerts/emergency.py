"""Nothing can be kept: a plain word through every channel, twice a day at most an hour.

Without a state nobody knows what was told, so each check in these hours says it again.
That is a choice: noise rather than silence.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.letter import Letter
from forecaster.domain.alerts.records import Rank
from forecaster.render.phone_fit import LONGEST, cut
from forecaster.service.alerts.local_day import day_of, wall_clock

if TYPE_CHECKING:
    import numpy as np

    from forecaster.service.alerts.post import Post

HOURS = (6, 18)
"""Local hours in which it is said."""
SEND_S = 30.0


def cry_out(post: Post, now: np.datetime64, why: str) -> int:
    """Tell the people that no alert can be trusted; the number of channels told."""
    if wall_clock(now, post.zone).hour not in HOURS:
        return 0
    day = day_of(now, post.zone)
    words = f"{post.farm}: ALERTS HAVE STOPPED: {why}"
    told = 0
    for name, channel in post.channels.items():
        key = keys.of_digest(name, f"emergency {day}")
        text = (
            f"{words}\n\nLook at the heads and the sky yourself until it is mended.\n"
        )
        letter = Letter(key, Rank.URGENT, cut(words, 120), cut(words, LONGEST), text)
        try:
            channel.send(letter, SEND_S)
        except Exception:  # noqa: BLE001, S112 - the next channel may work
            continue
        told += 1
    return told
