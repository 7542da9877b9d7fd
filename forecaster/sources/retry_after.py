"""How long a service wants to be left alone."""

from __future__ import annotations

import re
from email.utils import parsedate_to_datetime

MINUTE, HOUR, DAY = 60, 3600, 86_400
LONGEST = DAY
"""A longer wish is cut to a day, so that a broken header cannot silence us for ever."""

_DAILY = re.compile(r"\b(dai|day|tomorrow|month|week)", re.IGNORECASE)
_HOURLY = re.compile(r"\bhour", re.IGNORECASE)
_DIGITS = re.compile(r"[0-9]{1,18}")


def http_date(text: str) -> int | None:
    """Seconds since 1970 of an HTTP date (RFC 9110 §5.6.7), or None for junk."""
    try:
        return int(parsedate_to_datetime(text).timestamp())
    except (ValueError, TypeError, OverflowError, OSError, IndexError):
        return None


def retry_after(text: str | None, *, date: str | None, now: int) -> int | None:
    """Seconds a ``Retry-After`` header asks for (RFC 9110 §10.2.3), at most a day.

    None without the header, for junk, and for a moment that has passed. A moment is
    compared with the service's own ``Date`` where it sends one.
    """
    text = (text or "").strip()
    if _DIGITS.fullmatch(text):
        return min(int(text), LONGEST)
    until = http_date(text)
    if until is None:
        return None
    sent = http_date(date or "")
    wait = until - (now if sent is None else sent)
    return min(wait, LONGEST) if wait > 0 else None


def limit_wait(words: str, now: int) -> int:
    """Seconds to wait after "too many requests" without a time, by its words.

    An hourly limit: an hour. A daily or longer one: until 00:00 UTC. Else a minute.
    """
    if _DAILY.search(words):
        return DAY - now % DAY
    return HOUR if _HOURLY.search(words) else MINUTE
