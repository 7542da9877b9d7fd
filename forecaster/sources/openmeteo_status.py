"""Open-Meteo model status: which run of a model is served, and since when.

============================  ==========================  =================
theirs                        ours                        unit
============================  ==========================  =================
last_run_initialisation_time  when the run began          s since 1970, UTC
last_run_availability_time    since when it is served     s since 1970, UTC
update_interval_seconds       time between runs           s
data_end_time, if there       (must lie after the run)    s since 1970, UTC
============================  ==========================  =================

The servers copy from one another, so a run counts as served ten minutes after its
time. Source: Open-Meteo, "Model Updates" (published), and the server's source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from forecaster.domain.weather import HOUR
from forecaster.errors import UnusableError
from forecaster.sources.canonical_url import canonical_url
from forecaster.sources.contact import user_agent
from forecaster.sources.openmeteo import (
    FREE,
    IFS,
    SOURCE,
    Access,
    native_steps,
    newest_run,
)
from forecaster.sources.openmeteo_forecast import FRESH_FOR, HOST
from forecaster.sources.openmeteo_product import RUN_ASSUMED
from forecaster.sources.request import ModelRun, Parsed, Request
from forecaster.sources.strict_json import decode

if TYPE_CHECKING:
    from forecaster.domain.place import Place
    from forecaster.domain.weather import WeatherFrame

PRODUCT: Final = "status"
PATH: Final = "/data/ecmwf_ifs/static/meta.json"
"""ECMWF IFS at 9 km, which the mix of the service reads first."""
SETTLED: Final = np.timedelta64(600, "s")
"""After which all servers have a run (published: Open-Meteo, "Model Updates")."""
OLDEST: Final = np.timedelta64(16, "D")
"""No forecast reaches further from its run (published: Open-Meteo, forecast)."""
LATEST: Final = 2**33
"""[s] in the year 2242; a larger number is no time in seconds."""
LONGEST_INTERVAL: Final = 86_400
"""[s] between runs. Assumed: the models we read run every 6 h."""

_BEGAN = "last_run_initialisation_time"
_SERVED = "last_run_availability_time"
_EVERY = "update_interval_seconds"
_END = "data_end_time"


def request(place: Place, made: np.datetime64, *, access: Access = FREE) -> Request:
    """The request for the status of ECMWF IFS; its URL is the same for every place."""
    return Request(
        source=SOURCE,
        product=PRODUCT,
        url=canonical_url(access.host(HOST) + PATH, {}),
        place=place,
        made=made,
        fresh_for=FRESH_FOR,
        secrets={"apikey": access.key} if access.key else {},
        headers=user_agent(access.contact, "Open-Meteo") if access.contact else {},
    )


def parse(body: bytes, request: Request) -> Parsed:
    """The newest run a status names.

    Raises
    ------
    UnusableError
        If a time is no whole number of seconds, or they cannot all be true.
    RefusedError
        If it is an error document.
    """
    name = f"Open-Meteo {request.product}"
    document = decode(body, name)
    began, served = (_moment(document, key, name) for key in (_BEGAN, _SERVED))
    every = _whole(document, _EVERY, name, LONGEST_INTERVAL)
    end = _moment(document, _END, name) if _END in document else None
    for wrong, words in _contradictions(began, served, end, request.made):
        if wrong:
            raise UnusableError(f"{name}: {words}")
    return Parsed(run=ModelRun(began, served, np.timedelta64(every, "s")))


def _moment(document: dict[str, Any], key: str, name: str) -> np.datetime64:
    return np.datetime64(_whole(document, key, name, LATEST), "s")


def _whole(document: dict[str, Any], key: str, name: str, most: int) -> int:
    value = document.get(key)
    if type(value) is not int or not 0 < value <= most:
        raise UnusableError(
            f"{name}: {key} is {value!r:.40}, not whole seconds from 1 to {most}"
        )
    return value


def _contradictions(
    began: np.datetime64,
    served: np.datetime64,
    end: np.datetime64 | None,
    made: np.datetime64,
) -> list[tuple[bool, str]]:
    """What cannot be true of these times, and the words for it."""
    run, from_then = f"the run of {began}Z", f"is served from {served}Z on"
    no_hour = began.astype("datetime64[h]") != began
    return [
        (bool(no_hour), f"{run} does not begin on a whole hour"),
        (bool(began > made), f"{run} begins after now, {made}Z; check the clock"),
        (bool(began < made - OLDEST), f"{run} is over {OLDEST} old at {made}Z"),
        (bool(served < began), f"{run} {from_then}, before it began"),
        (
            bool(served > made + HOUR),
            f"{run} {from_then}, after now, {made}Z; check the clock",
        ),
        (
            end is not None and bool(end <= began),
            f"the data end at {end}Z, before {run}",
        ),
    ]


def dated(
    frame: WeatherFrame,
    got: np.datetime64,
    run: ModelRun | None,
    seen: np.datetime64,
    trouble: str = "",
) -> WeatherFrame:
    """A forecast of the mix with its run, and the model's own steps from that run on.

    Parameters
    ----------
    frame : WeatherFrame
        As parsed, with the run assumed.
    got : datetime64
        When the forecast was sent, UTC.
    run : ModelRun or None
        The status; None if there is none.
    seen : datetime64
        When the status was sent, UTC; NaT if there is none.
    trouble : str
        Why there is none.
    """
    issued, note = _run_behind(got, run, seen, trouble)
    return replace(
        frame,
        provenance=replace(frame.provenance, issued=issued, notes=(note,)),
        native_step=native_steps(frame.time, issued, IFS),
    )


def _run_behind(
    got: np.datetime64, run: ModelRun | None, seen: np.datetime64, trouble: str
) -> tuple[np.datetime64, str]:
    """The newest run that can be stood behind, and how it is known.

    A status from long before the forecast knows nothing of the runs between. If its
    run was not yet on all servers, the one before may be what was read.
    """
    assumed = newest_run(got)
    if run is None:
        return assumed, f"{RUN_ASSUMED} ({trouble or 'no model status is known'})"
    if seen < got - np.timedelta64(FRESH_FOR, "s"):
        return assumed, f"{RUN_ASSUMED} (the model status known is older)"
    if run.served + SETTLED <= got:
        return run.began, (
            f"run of {run.began}Z by the service's status of ECMWF IFS, which its mix "
            "reads first; what it takes from other models may be older"
        )
    bound = min(assumed, run.began - run.every)
    later = f"that of {run.began}Z may not have been on every server"
    return bound, f"{RUN_ASSUMED} ({later})"
