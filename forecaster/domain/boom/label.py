"""What a user's own label says of the boom; nothing is used before it is confirmed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class LabelBoom:
    """Numbers typed from one label."""

    confirmed: bool = False
    height_max: float | None = None
    """[m] above the target."""
    no_height: bool = False
    """Whether the user typed that the label states none."""
    rate: float | None = None
    """Product a hectare, in ``unit``."""
    unit: str = ""

    @property
    def product(self) -> tuple[float, str] | None:
        """The rate and its unit, once confirmed."""
        if not self.confirmed or self.rate is None:
            return None
        return self.rate, self.unit


NOTHING_TYPED = LabelBoom()


class HeightVerdict(StrEnum):
    """A boom height held against the label."""

    KEEPS = "within the label"
    BREAKS = "breaks the label"
    UNCONFIRMED = "label height not confirmed"
    NOT_TYPED = "label height not typed"
    NONE = "no height on the label"


def held_against(height: float, label: LabelBoom) -> HeightVerdict:
    """Whether ``height`` [m] above the target is within the label."""
    if label.no_height and label.confirmed:
        return HeightVerdict.NONE
    if label.height_max is None:
        return HeightVerdict.UNCONFIRMED if label.no_height else HeightVerdict.NOT_TYPED
    if not label.confirmed:
        return HeightVerdict.UNCONFIRMED
    within = height <= label.height_max
    return HeightVerdict.KEEPS if within else HeightVerdict.BREAKS
