"""How a farm's people are reached: channels, quiet hours, the hour of the digest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.service.alerts import local_day

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    import numpy as np

    from forecaster.domain.alerts.messages import Way
    from forecaster.ports import Notifier


@dataclass(frozen=True, slots=True)
class Post:
    """How a farm's people are reached."""

    farm: str
    zone: str
    ways: tuple[Way, ...]
    channels: Mapping[str, Notifier]
    digest_at: dt.time
    quiet_from: dt.time | None = None
    quiet_to: dt.time | None = None
    faults: tuple[str, ...] = ()
    """Why some channels cannot be set up."""

    def quiet_until(self, now: np.datetime64) -> np.datetime64 | None:
        """When the quiet hours end that ``now`` lies in; None outside of them."""
        return local_day.quiet_until(now, self.zone, self.quiet_from, self.quiet_to)

    def digest_due(self, now: np.datetime64, last_day: str) -> str | None:
        """The local day whose digest is due, or None."""
        return local_day.digest_due(now, self.zone, self.digest_at, last_day)
