"""Ask a weather service, politely and at most once while its answer is fresh."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import dataclass
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING

import numpy as np
from requests_cache.models.response import CachedResponse

from forecaster.errors import SourceError
from forecaster.sources.answer_table import drop_answer
from forecaster.sources.asking import Asking
from forecaster.sources.atomic_file import safe_name
from forecaster.sources.canonical_url import authority, check_address
from forecaster.sources.conduct import CONDUCT, Conduct
from forecaster.sources.deadline import Deadline, Moment
from forecaster.sources.host_lock import host_lock
from forecaster.sources.http_session import CACHE_FILE, answer_key, http_session

if TYPE_CHECKING:
    from pathlib import Path

    from requests import Response

    from forecaster.sources.request import Request

BUDGET_S = 60.0
"""For one refresh, however many requests it makes. Common practice, no source."""
HOSTS = "hosts"
"""The folder of locks and of what hosts asked of us."""
DEPRECATED = 203


@dataclass(frozen=True, slots=True)
class Fetched:
    """What a service answered; nobody has looked inside yet.

    ``retrieved_at`` is when the service last sent this or said it still holds, UTC.
    ``from_cache``: no new body came. ``notes`` are for the user. ``clock`` is the
    service's own clock, where it states it and sent this anew.
    """

    body: bytes
    retrieved_at: np.datetime64
    from_cache: bool
    notes: tuple[str, ...] = ()
    clock: np.datetime64 | None = None


def fetch(
    request: Request,
    *,
    folder: Path,
    now: np.datetime64,
    offline: bool = False,
    budget: Deadline | float = BUDGET_S,
    conduct: Conduct = CONDUCT,
) -> Fetched:
    """The answer to ``request``, kept in ``folder`` while it is fresh.

    ``budget`` in seconds, or a deadline that several requests share. Offline, only
    an answer that is still fresh is given.

    Raises
    ------
    TemporaryError
        If the line or the service is down, resting or slow, or we are offline.
    LimitedError
        If the service wants to be left alone; holds until when.
    RefusedError
        If it refused the request, or the address may not be asked.
    UnusableError
        If the answer is too large, cut off, badly packed or not HTTP.

    Notes of a fetch that failed hang on the error (``add_note``).
    """
    check_address(request.url)
    deadline = Deadline.of(budget)
    notes: list[str] = []
    host = safe_name(authority(request.url))
    asking = Asking(
        request=request,
        conduct=conduct,
        budget=deadline,
        moment=Moment.at(seconds_of(now)),
        memory_file=folder / HOSTS / f"{host}.json",
        offline=offline,
        tell=notes.append,
    )
    lock = host_lock(folder / HOSTS / f"{host}.lock", deadline, notes.append)
    try:
        with (
            nullcontext() if offline else lock,
            http_session(folder, asking) as session,
        ):
            response = session.get(request.url)
    except SourceError as error:
        for note in notes:
            error.add_note(note)
        raise
    retrieved = _retrieved(response, now)
    return Fetched(
        body=response.content,
        retrieved_at=retrieved,
        from_cache=isinstance(response, CachedResponse),
        notes=tuple(dict.fromkeys([*notes, *_notes(response, request)])),
        clock=_clock(response),
    )


def forget(request: Request, *, folder: Path) -> tuple[str, ...]:
    """Take an answer that turned out to be no weather out of the cache.

    Returns what there is to say about the cache file.
    """
    notes: list[str] = []
    drop_answer(folder / CACHE_FILE, answer_key(request.url), notes.append)
    return tuple(notes)


def seconds_of(moment: np.datetime64) -> int:
    """Whole seconds since 1970, UTC."""
    return int(moment.astype("datetime64[s]").astype(np.int64))


def _retrieved(response: Response, now: np.datetime64) -> np.datetime64:
    if isinstance(response, CachedResponse) and not response.revalidated:
        return np.datetime64(int(response.created_at.timestamp()), "s")
    return np.datetime64(seconds_of(now), "s")


def _clock(response: Response) -> np.datetime64 | None:
    """The header Date (RFC 9110, section 6.6.1) of an answer that came just now."""
    stated = response.headers.get("date", "")
    if not stated or isinstance(response, CachedResponse):
        return None
    try:
        moment = parsedate_to_datetime(stated)
    except ValueError:
        return None
    return np.datetime64(int(moment.timestamp()), "s")


def _notes(response: Response, request: Request) -> list[str]:
    notes = [
        f"{request.source} announces: {name} {response.headers[name]}"
        for name in ("deprecation", "sunset")
        if name in response.headers
    ]
    if response.status_code == DEPRECATED:
        notes.append(
            f"{request.source} marks this product as beta or deprecated (status 203)"
        )
    return notes
