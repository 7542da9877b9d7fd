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


@dataclass(frozen=True, slots=True)
class Notice:
    """One active in one paddock: planned in ``block``, or sprayed already if None."""

    outlook: Outlook
    paddock: PaddockOutlook
    active: ActiveOutlook
    block: BlockView | None
    near: NearView | None = None
    """The neighbour it is for; None: whoever asks."""
