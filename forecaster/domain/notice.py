"""What a gate sign or a note to a neighbour is about: one planned block, or a spray."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.outlook import (
        ActiveOutlook,
        BlockView,
        NearView,
        Outlook,
        PaddockOutlook,
    )
    from forecaster.domain.record.after import Recorded


@dataclass(frozen=True, slots=True)
class Notice:
    """One active in one paddock: planned in ``block``, or sprayed already if None."""

    outlook: Outlook
    paddock: PaddockOutlook
    active: ActiveOutlook
    block: BlockView | None
    near: NearView | None = None
    """The neighbour it is for; None: whoever asks."""

    @property
    def recorded(self) -> Recorded | None:
        """What the spray record says, where it is about a spray that is done."""
        return self.paddock.recorded if self.block is None else None

    @property
    def capeweed(self) -> bool:
        """Whether sprayed capeweed stands in the paddock."""
        return self.paddock.after is not None and self.paddock.after.broadleaf

    @property
    def earlier(self) -> Recorded | None:
        """What it says of a day before that of the farm file, likewise."""
        return self.paddock.earlier if self.block is None else None
