"""How long a service says its answer holds (RFC 9111 §4.2), in one clean header."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from forecaster.sources.retry_after import http_date

if TYPE_CHECKING:
    from collections.abc import Mapping

_MAX_AGE = re.compile(r'max-age="?(-?[0-9]{1,18})"?')


def cache_control(headers: Mapping[str, str], *, now: int, longest: int) -> str:
    """``Cache-Control`` holding only what we act on; empty if the service says nothing.

    ``Expires`` becomes an age by the service's own ``Date``, so a wrong clock here
    makes nothing live longer. ``must-revalidate`` is dropped: it forbids serving what
    has run out, which we never do, and must not cause requests before that.
    """
    given = [
        each.strip().lower() for each in headers.get("cache-control", "").split(",")
    ]
    if "no-store" in given:
        return "no-store"
    if "no-cache" in given:
        return "no-cache, max-age=0"
    ages = [int(age[1]) for age in map(_MAX_AGE.fullmatch, given) if age]
    if not ages and "expires" in headers:
        ages = [_expires(headers, now)]
    return f"max-age={min(max(ages[0], 0), longest)}" if ages else ""


def _expires(headers: Mapping[str, str], now: int) -> int:
    """Junk means "has run out already" (RFC 9111 §5.3)."""
    until = http_date(headers["expires"])
    sent = http_date(headers.get("date", ""))
    return 0 if until is None else until - (now if sent is None else sent)
