"""Weather from a service, or the last good weather with its age."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.errors import (
    OutputError,
    PartialError,
    RefusedError,
    SourceError,
)
from forecaster.sources.conduct import CONDUCT, Conduct
from forecaster.sources.http import BUDGET_S, fetch, forget, seconds_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    import numpy as np

    from forecaster.sources.deadline import Deadline
    from forecaster.sources.kept_forecasts import KeptForecasts
    from forecaster.sources.lastgood import Kept, LastGood
    from forecaster.sources.request import Parsed, Request

HOUR, DAY = 3600, 86_400
TWO_DAYS = 2 * DAY


@dataclass(frozen=True, slots=True)
class Refreshed:
    """Weather, and how far to trust it.

    ``fresh`` is False if it comes from the last-good store; ``fault`` is then why.
    ``retrieved_at`` is when the service sent it, UTC; ``clock`` is what its own clock
    said, where it came anew and says so.
    """

    parsed: Parsed
    retrieved_at: np.datetime64
    fresh: bool
    warnings: tuple[str, ...] = ()
    fault: SourceError | None = None
    clock: np.datetime64 | None = None


def refresh(
    request: Request,
    parse: Callable[[bytes, Request], Parsed],
    *,
    folder: Path,
    store: LastGood,
    archives: Sequence[KeptForecasts] = (),
    now: np.datetime64,
    offline: bool = False,
    budget: Deadline | float = BUDGET_S,
    conduct: Conduct = CONDUCT,
) -> Refreshed:
    """Ask, check, keep; if any of the first two fails, what was kept before.

    ``parse`` takes a body apart or raises a SourceError; nothing it refuses is kept,
    neither in the store nor, unless it was a PartialError, in the HTTP cache in
    ``folder``. A forecast that came anew is also put into each of ``archives``.

    Raises
    ------
    SourceError
        What went wrong, if nothing sound is kept; warnings are its notes.
    """
    warnings: list[str] = []
    try:
        fetched = fetch(
            request,
            folder=folder,
            now=now,
            offline=offline,
            budget=budget,
            conduct=conduct,
        )
        warnings += fetched.notes
        then = replace(request, made=fetched.retrieved_at)
        parsed = _accepted(parse, fetched.body, then, folder, warnings)
    except SourceError as error:
        fault = error
        warnings += getattr(error, "__notes__", ())
    else:
        try:
            store.save(request, fetched.body, fetched.retrieved_at)
        except OutputError as error:
            warnings.append(f"the last good weather could not be kept: {error}")
        try:
            for archive in archives if not fetched.from_cache else ():
                archive.keep(request, fetched.body, fetched.retrieved_at)
        except OutputError as error:
            warnings.append(f"the forecast could not be kept for later: {error}")
        told = (*warnings, *parsed.warnings)
        return Refreshed(
            parsed, fetched.retrieved_at, fresh=True, warnings=told, clock=fetched.clock
        )
    kept = store.load(request, warnings.append)
    old = None if kept is None else _again(parse, kept, request)
    if kept is None or old is None:
        fault.__notes__ = warnings
        raise fault
    cautions = [_why(request, kept, now, fault), *_cautions(kept, now, fault)]
    told = (*cautions, *warnings, *old.warnings)
    return Refreshed(old, kept.retrieved_at, fresh=False, warnings=told, fault=fault)


def _accepted(
    parse: Callable[[bytes, Request], Parsed],
    body: bytes,
    request: Request,
    folder: Path,
    warnings: list[str],
) -> Parsed:
    try:
        return parse(body, request)
    except PartialError:
        # Its dates may be read next, without asking again.
        raise
    except SourceError:
        warnings += forget(request, folder=folder)
        raise


def _again(
    parse: Callable[[bytes, Request], Parsed], kept: Kept, request: Request
) -> Parsed | None:
    """What was good once may not be by today's rules.

    It is read as of the moment it came, a run it belongs to being as old as it is, and
    against the address it was asked by: today's may name other days.
    """
    then = replace(request, made=kept.retrieved_at, url=kept.url)
    try:
        return parse(kept.body, then)
    except SourceError:
        return None


def _why(request: Request, kept: Kept, now: np.datetime64, fault: SourceError) -> str:
    return (
        f"{request.source}: weather got {age_text(kept.retrieved_at, now)} is used, "
        f"because of this: {fault}"
    )


def _cautions(kept: Kept, now: np.datetime64, fault: SourceError) -> list[str]:
    cautions = []
    if isinstance(fault, RefusedError):
        cautions.append(
            "the service REFUSED the request: trying again will not help; "
            "mend the key, the address or what is asked for"
        )
    if seconds_of(kept.retrieved_at) > seconds_of(now):
        cautions.append(
            "the clock of this machine is behind the weather it holds "
            f"({kept.retrieved_at} UTC): check its date and time"
        )
    return cautions


def age_text(retrieved: np.datetime64, now: np.datetime64) -> str:
    """How old, in one unit: minutes, hours, or days from two days on."""
    age = seconds_of(now) - seconds_of(retrieved)
    if age < 0:
        return "at a moment still to come"
    if age < HOUR:
        return f"{age // 60} min ago"
    return f"{age // HOUR} h ago" if age < TWO_DAYS else f"{age // DAY} days ago"
