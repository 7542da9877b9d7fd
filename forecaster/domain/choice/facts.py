"""What is known of one paddock when an active is chosen; None: nobody has said."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Mode
    from forecaster.domain.planning.windows import Status


class Clover(StrEnum):
    """Whether the clover of a paddock is to set seed."""

    WANTED = "wanted"
    NOT_WANTED = "not wanted"
    NONE = "none"


class CloverStage(StrEnum):
    """Where the clover stands."""

    BEFORE = "before flowering"
    FLOWERING = "flowering"
    PAST = "past flowering"


class Resists(StrEnum):
    """Whether a weed withstands an active."""

    CONFIRMED = "confirmed"
    SUSPECTED = "suspected"
    CLEAR = "tested clear"


@dataclass(frozen=True, slots=True)
class Heads:
    """Shares of heads of one weed. [share 0…1] They sum to 1."""

    not_out: float
    out: float
    """Heading and flowering, before any grain."""
    milk: float
    """Clear juice to thick cream."""
    dough: float
    """Soft dough."""
    hard: float
    """Hard dough or ripe."""

    @property
    def headed(self) -> float:
        """Share of heads that are out of the sheath."""
        return 1.0 - self.not_out


@dataclass(frozen=True, slots=True)
class WeedHere:
    """One weed of the paddock."""

    id: str
    name: str
    heads: Heads | None
    """None: cannot be told."""
    half_headed: float | None
    """[d] from now until half its heads are out; negative: since."""


@dataclass(frozen=True, slots=True)
class ActiveHere:
    """One active that may be used in the paddock, on the weed that matters most."""

    id: str
    mode: Mode
    controls: bool
    """Whether it controls the weed at any stage."""
    label: bool
    """Whether its label is typed and confirmed in full."""
    on_label: bool
    """Whether the weed is among those typed from the label."""
    resists: Resists | None
    springs: int | None
    """Springs running, up to the last one, in which it was used here."""
    status: Status
    """Of its stage window, whether or not the paddock was sprayed."""
    block: tuple[float, float] | None
    """[share] bounds of the chance that a block long enough for the paddock comes
    before the window shuts. None: the hours do not reach that far."""


@dataclass(frozen=True, slots=True)
class Sward:
    """What grows besides the weeds."""

    clover: Clover | None = None
    clover_stage: CloverStage | None = None
    clover_thin: bool | None = None
    loss_accepted: bool = False
    """Whether the loss of clover seed is accepted by who runs the farm."""
    perennials: bool | None = None
    """Whether there are perennials that are wanted."""
    perennials_per_m2: float | None = None
    age_months: float | None = None
    """[months] since the perennials were sown; inf: long ago."""
    to_be_sown: bool | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything the decision table asks."""

    hectares: float
    target: str
    """Id of the weed that matters most."""
    weeds: tuple[WeedHere, ...]
    actives: tuple[ActiveHere, ...]
    sward: Sward
    uneven: bool | None
    """Whether a count of heads found them spread too widely; None: nobody counted."""
    toxicity: bool
    """Whether annual ryegrass toxicity is known here and the target may carry it."""
    feed_short: bool | None
    """Whether feed runs short within six weeks if this paddock is sprayed."""
    priority_stock: bool | None
    sheep: bool | None
    """Whether there are sheep enough to graze instead."""
    long_lived: bool
    """Whether a good share of next year's seedlings come from older seed."""
    accepts_late: bool = False
    """Whether a weaker effect at milk is accepted by who runs the farm."""

    @property
    def main(self) -> WeedHere:
        """The weed that matters most."""
        return next(each for each in self.weeds if each.id == self.target)
