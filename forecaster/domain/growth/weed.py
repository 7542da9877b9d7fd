"""One weed: its clock, its stages in thermal time and its window rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from forecaster.domain.growth.stage import Stage

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.sourced import Sourced

Mode: TypeAlias = Literal["translocated", "contact"]
"""How an active works: carried through the plant, or killing what it touches."""


@dataclass(frozen=True, slots=True)
class ShareRule:
    """Holds from the day ``share`` of the heads are at ``stage`` or past it."""

    stage: Stage
    share: Sourced
    """[share 0…1]"""


@dataclass(frozen=True, slots=True)
class WindowRule:
    """When one mode of action may be used on one weed, as shares of heads.

    ``open`` and ``best_from`` need all of their rules to hold (the latest one
    decides); ``best_until`` and ``closed`` come with the first that holds.
    """

    open: tuple[ShareRule, ...]
    best_from: tuple[ShareRule, ...]
    best_until: tuple[ShareRule, ...]
    closed: tuple[ShareRule, ...]


@dataclass(frozen=True, slots=True)
class Toxicity:
    """When a weed is sprayed to keep its heads from poisoning stock."""

    open: ShareRule
    """The first heads."""
    days: Sourced
    """[d] from then to the close."""
    warning: str
    """Printed with the paddock."""


@dataclass(frozen=True, slots=True)
class Weed:
    """Everything the model knows of one weed; every number carries its source."""

    id: str
    name: str
    latin: str
    base: Sourced
    """[degC] no growth below."""
    ceiling: Sourced
    """[degC] no faster growth above."""
    early_weight: Sourced
    """[factor] what a degree-day before midwinter counts for."""
    half_headed: Sourced
    """[degC d] weighted thermal time at which half the heads are at heading."""
    offsets: Mapping[Stage, Sourced]
    """[degC d] from heading to each later stage, never falling."""
    spread: Sourced
    """[degC d] standard deviation between heads of one paddock."""
    prior_sd: Sourced
    """[degC d] standard deviation of ``half_headed`` before anyone has looked."""
    phase_sd: Sourced
    """[share] standard deviation of an offset, as a share of it."""
    emergence: Sourced
    """[degC d] from the break of season to emergence, unweighted."""
    late_spread: Sourced
    """[factor] on ``spread`` where the weed emerged after midwinter."""
    stage_words: Mapping[Stage, str]
    """What a person at the gate sees."""
    windows: Mapping[Mode, WindowRule]
    """Missing mode: that way of spraying has no window on this weed."""
    note: str
    toxicity: Toxicity | None = None
    """None: the weed is not known to poison stock this way."""

    def offset(self, stage: Stage) -> float:
        """Thermal time from heading to ``stage``, in °C d."""
        return 0.0 if stage is Stage.HEADING else self.offsets[stage].value

    def position(self, stage: Stage) -> float:
        """Weighted thermal time at which half the heads reach ``stage``, in °C d."""
        return self.half_headed.value + self.offset(stage)
