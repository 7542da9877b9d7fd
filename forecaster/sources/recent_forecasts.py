"""The forecasts of the last days as they were issued, to stand beside a spray record.

A record may be written days after the spray, when newer forecasts have long come. So
each answer is kept for :data:`KEPT_D`, on shelves as of :class:`KeptForecasts`. Members
and profiles are left out: a record tells what was said, not how likely it was.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Final

import numpy as np

from forecaster.sources.kept_forecasts import (
    SINGLES,
    KeptForecasts,
    name_of,
    newest_before,
    shelf_of,
)

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.place import Place
    from forecaster.sources.kept_forecasts import KeptForecast
    from forecaster.sources.request import Request

KEPT_D: Final = 9
"""[d] Longer than any deadline of config/records, the longest being seven days."""


class RecentForecasts(KeptForecasts):
    """The forecasts of the last days kept in one folder."""

    def keep(self, request: Request, body: bytes, retrieved: np.datetime64) -> None:
        """Keep a single forecast, and let those go that no record can ask for.

        Raises
        ------
        OutputError
            If it cannot be written; nothing of it is then there.
        """
        product = request.source, request.product
        if product not in SINGLES:
            return
        super().keep(request, body, retrieved)
        oldest = name_of(retrieved - np.timedelta64(KEPT_D, "D"))
        for path in (self._folder / shelf_of(product)).glob("*.gz"):
            if path.name < oldest:
                with suppress(OSError):  # another process reads it: next time
                    path.unlink()


def newest_single(
    folders: tuple[Path, ...], place: Place, moment: np.datetime64
) -> KeptForecast | None:
    """The last sound single forecast that came no later than ``moment``."""
    found = [
        kept
        for folder in folders
        for product in SINGLES
        if (kept := newest_before(folder, product, place, moment)) is not None
    ]
    return max(found, key=lambda each: each.request.made, default=None)
