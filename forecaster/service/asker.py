"""Who asks the open services for one farm: where, as whom, when and how long."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from forecaster.domain.weather import HOUR
from forecaster.errors import NoWeatherError, SourceError
from forecaster.sources.conduct import Conduct
from forecaster.sources.deadline import Deadline
from forecaster.sources.http import BUDGET_S
from forecaster.sources.kept_forecasts import KeptForecasts
from forecaster.sources.lastgood import LastGood
from forecaster.sources.openmeteo import Access
from forecaster.sources.recent_forecasts import RecentForecasts
from forecaster.sources.refresh import Refreshed, refresh

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.settings.farm import Farm
    from forecaster.settings.farm_file import WeatherEntry
    from forecaster.sources.request import Parsed, Request

FOLDER = ".weather"
"""Inside the farm folder: what was fetched, and what was good last."""


def kept_folders(folder: Path) -> tuple[Path, Path]:
    """Forecasts of the last days, and those kept for good, below ``FOLDER``."""
    return folder / "recent", folder / "forecasts"


@dataclass(slots=True)
class Asker:
    """Asks services for one farm and keeps what they say.

    ``clock_now`` is the moment by the clock: all that is asked, kept and waited for
    goes by it. ``now`` is the moment stood at, which may be another. All asks share
    the ``budget``; the first have it first.
    """

    place: Place
    clock_now: np.datetime64
    now: np.datetime64
    entry: WeatherEntry
    folder: Path
    offline: bool
    budget: Deadline = field(default_factory=lambda: Deadline.after(BUDGET_S))
    warnings: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    """Where the weather came from, in detail."""
    fault: SourceError | None = None
    """Why the last question had no fresh answer."""
    service_clock: np.datetime64 | None = None
    """What a service's own clock showed when it answered, UTC."""

    @property
    def access(self) -> Access:
        """Where to ask Open-Meteo, and as whom."""
        key = os.environ.get(self.entry.key_env, "") if self.entry.key_env else ""
        return Access(self.entry.open_meteo_url, key, self.entry.contact)

    @property
    def archives(self) -> tuple[KeptForecasts, ...]:
        """Where new forecasts are kept: for some days, and for good if so wanted."""
        recent, whole = kept_folders(self.folder)
        always = (RecentForecasts(recent),)
        return (*always, KeptForecasts(whole)) if self.entry.keep_forecasts else always

    def ask(
        self,
        request: Request,
        parse: Callable[[bytes, Request], Parsed],
        *,
        kept_only: bool = False,
        most_s: float | None = None,
    ) -> Refreshed | None:
        """The answer, an older one with its age, or None; every trouble is noted.

        ``kept_only`` asks no service; ``most_s`` is the most of the shared time that
        this question may take [s].
        """
        try:
            answer = self.refreshed(
                request,
                parse,
                offline=self.offline or kept_only,
                budget=self.budget if most_s is None else self.budget.within(most_s),
            )
        except SourceError as error:
            self.fault = error
            self.warnings += [str(error), *getattr(error, "__notes__", ())]
            return None
        self.fault = answer.fault
        if answer.clock is not None:
            self.service_clock = answer.clock
        self.warnings += answer.warnings
        return answer

    def refreshed(
        self,
        request: Request,
        parse: Callable[[bytes, Request], Parsed],
        *,
        offline: bool,
        budget: Deadline,
    ) -> Refreshed:
        """The answer, or an older one with its age.

        Raises
        ------
        SourceError
            If there is neither.
        """
        return refresh(
            request,
            parse,
            folder=self.folder / "http",
            store=LastGood(self.folder / "good"),
            archives=self.archives,
            now=self.clock_now,
            offline=offline,
            budget=budget,
            conduct=Conduct(contact=self.entry.contact),
        )

    def demand(
        self, request: Request, parse: Callable[[bytes, Request], Parsed]
    ) -> Refreshed:
        """The answer, or an older one.

        Raises
        ------
        NoWeatherError
            If there is neither, with every trouble on the way.
        """
        answer = self.ask(request, parse)
        if answer is None:
            raise NoWeatherError("\n".join(["no weather:", *self.warnings]))
        return answer

    def age(self, answer: Refreshed) -> float:
        """Hours since the answer was sent, by the clock."""
        return float((self.clock_now - answer.retrieved_at) / HOUR)

    def told_age(self, answer: Refreshed) -> float:
        """Hours from the answer to the moment stood at, never under :meth:`age`."""
        ahead = float((self.now - self.clock_now) / HOUR)
        return self.age(answer) + max(ahead, 0.0)

    def knew(self, answer: Refreshed) -> bool:
        """Whether the answer was there at the moment stood at."""
        return bool(self.now >= self.clock_now or answer.retrieved_at <= self.now)


def asker_for(
    farm: Farm,
    clock_now: np.datetime64,
    *,
    offline: bool,
    now: np.datetime64 | None = None,
    budget: Deadline | float = BUDGET_S,
) -> Asker:
    """Who asks for ``farm``; ``now`` is the moment stood at, if not the clock's."""
    return Asker(
        farm.place,
        clock_now,
        clock_now if now is None else now,
        farm.weather,
        farm.folder / FOLDER,
        offline,
        Deadline.of(budget),
    )
