"""One small question to the weather service, which leaves nothing behind."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.phases import hours
from forecaster.errors import SourceError

if TYPE_CHECKING:
    from forecaster.service.selfcheck.subject import Subject
    from forecaster.settings.farm import Farm

BUDGET_S = 8.0
DAYS = 2


@dataclass(frozen=True, slots=True)
class Heard:
    """What the service answered."""

    source: str
    age_h: float = float("nan")
    """[h] of the forecast's issue, NaN where it does not say."""
    skew_s: float | None = None
    """[s] our clock ahead of the service's."""
    fault: SourceError | None = None


def asked(subject: Subject) -> Heard | None:
    """The answer, of one question for all who want to know; None: nobody is asked."""
    farm = subject.farm
    if subject.offline or farm is None or farm.weather.kind != "open":
        return None
    if subject.heard is None:
        subject.heard = _ask(farm, subject.now)
    return subject.heard


def _ask(farm: Farm, now: np.datetime64) -> Heard:
    """Ask in a place of its own, minding what hosts asked of us before."""
    from forecaster.service.asker import asker_for
    from forecaster.sources import openmeteo_forecast
    from forecaster.sources.http import HOSTS

    asker = asker_for(farm, now, offline=False, budget=BUDGET_S)
    with TemporaryDirectory(ignore_cleanup_errors=True) as scratch:
        hosts = Path(scratch) / "http" / HOSTS
        hosts.mkdir(parents=True)
        for each in (asker.folder / "http" / HOSTS).glob("*.json"):
            shutil.copyfile(each, hosts / each.name)
        entry = farm.weather.model_copy(update={"keep_forecasts": False})
        asker = replace(asker, folder=Path(scratch), entry=entry)
        request = openmeteo_forecast.request(
            asker.place, now, access=asker.access, past_days=1, forecast_days=DAYS
        )
        try:
            answer = asker.refreshed(
                request, openmeteo_forecast.parse, offline=False, budget=asker.budget
            )
        except SourceError as error:
            return Heard(request.source, fault=error)
    frame = answer.parsed.frame
    issued = np.datetime64("NaT") if frame is None else frame.provenance.issued
    clock = answer.clock
    skew = None if clock is None else float((now - clock) / np.timedelta64(1, "s"))
    return Heard(request.source, float((now - issued) / hours(1)), skew)
