"""What is looked at: one farm's folder, whether or not its settings can be read."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from forecaster.errors import ForecasterError
from forecaster.service.alerts.farm_check import FOLDER
from forecaster.settings.farm import load_farm

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np

    from forecaster.domain.alerts.finding import Finding
    from forecaster.service.selfcheck.asked_once import Heard
    from forecaster.settings.farm import Farm


@dataclass(slots=True)
class Subject:
    """One farm at one moment."""

    folder: Path
    now: np.datetime64
    offline: bool = False
    farm: Farm | None = None
    fault: ForecasterError | None = None
    """Why there is no farm."""
    heard: Heard | None = field(default=None, repr=False)
    """What the weather service answered; asked once."""

    @classmethod
    def of(cls, folder: Path, now: np.datetime64, *, offline: bool = False) -> Subject:
        """The farm of a folder, or why it cannot be read."""
        subject = cls(folder, now, offline)
        try:
            subject.farm = load_farm(folder)
        except ForecasterError as error:
            subject.fault = error
        return subject

    @property
    def state(self) -> Path:
        """Where the state is kept."""
        return self.folder / FOLDER

    @property
    def check(self) -> str:
        """The command of a check."""
        return f'forecaster check --farm "{self.folder}"'

    def secrets(self) -> tuple[str, ...]:
        """Whatever must not be seen in what is said."""
        import os

        from forecaster.settings.secrets import read_secrets

        found: list[str] = []
        with suppress(ForecasterError, OSError, UnicodeError):
            secrets = read_secrets(self.folder)
            found += secrets.words
            for name in self._named():
                with suppress(ForecasterError):
                    found.append(secrets.of(name).reveal())
        if self.farm is not None and self.farm.weather.key_env:
            found.append(os.environ.get(self.farm.weather.key_env, ""))
        return tuple(sorted({each for each in found if each}, key=len, reverse=True))

    def _named(self) -> list[str]:
        if self.farm is None:
            return []
        alerts = self.farm.alerts
        named = [alerts.heartbeat, *(each.secret for each in alerts.channels)]
        return [each for each in named if each]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that can be looked at; ``id`` never changes its meaning."""

    id: str
    about: str
    look: Callable[[Subject], Finding]
    limit_s: float = 10.0
