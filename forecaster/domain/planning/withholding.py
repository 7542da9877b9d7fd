"""How long stock stay out after a spray, by what somebody typed from their label.

The program knows no label. A number counts only once typed and confirmed; without one
there is no date, and *read your label* is all that can be said.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

DAY = np.timedelta64(1, "D")


class LabelSays(StrEnum):
    """What is known of the grazing withholding period of a label."""

    DAYS = "typed"
    NONE = "not on label"
    UNCONFIRMED = "typed, not confirmed"
    UNREAD = "not typed"


@dataclass(frozen=True, slots=True)
class Withholding:
    """The grazing withholding period of one active; ``days`` [d] only where typed."""

    says: LabelSays = LabelSays.UNREAD
    days: int | None = None

    def not_before(self, sprayed: np.datetime64) -> np.datetime64 | None:
        """The first day for stock after a spray finished on day ``sprayed``.

        The day of the spray is day 0 and ``days`` whole days must pass, so a spray
        that ends late on that day is covered too: seven days after the 14th are over
        during the 21st, and stock may come in on the 22nd (common practice, no
        source). None unless the number was typed and confirmed.
        """
        if self.says is not LabelSays.DAYS or self.days is None or np.isnat(sprayed):
            return None
        first: np.datetime64 = sprayed.astype("datetime64[D]") + (self.days + 1) * DAY
        return first


NOT_TYPED = Withholding()
"""Nobody has typed it yet."""


def longer(one: Withholding, other: Withholding) -> Withholding:
    """What to go by where a label was read twice: the more days; days before none.

    Neither may shorten what the other asks.
    """
    counted = [each for each in (one, other) if each.says is LabelSays.DAYS]
    if counted:
        return max(counted, key=lambda each: each.days or 0)
    return one if one.says is LabelSays.NONE else other
