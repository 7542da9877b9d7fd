"""What may be typed of a paddock for the choice of an active."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from forecaster.domain.choice.facts import Clover, CloverStage, Resists
from forecaster.settings.document import Date, Flag, Number, Strict, Text, within


class SwardEntry(Strict):
    """``[paddock.sward]``: what grows besides the weeds."""

    clover: Clover | None = None
    clover_stage: CloverStage | None = None
    clover_thin: Flag | None = None
    clover_loss_accepted: Flag = False
    perennials: Flag | None = None
    perennials_per_m2: Annotated[Number, within(0, 500)] | None = None
    perennials_sown: Date | None = None
    established: Flag | None = None
    to_be_sown: Flag | None = None


class ChoiceEntry(Strict):
    """``[paddock.choice]``: stock, past springs, what is accepted."""

    feed_short: Flag | None = None
    feed_on_offer_kg_ha: Annotated[Number, within(0, 20_000)] | None = None
    priority_stock: Flag | None = None
    sheep_enough: Flag | None = None
    late_effect_accepted: Flag = False
    resistance: dict[str, Resists] = Field(default_factory=dict)
    last_springs: list[str] | None = None
    """Newest first: ids of actives, or words for another tactic."""


class WeightEntry(Strict):
    """``[weights.<weed>]``: what it weighs beside its share of the sward."""

    harm: Annotated[Number, within(0, 100, above=True)] = 1.0
    seed_life: Annotated[Number, within(0, 100, above=True)] = 1.0
    because: Annotated[Text, Field(min_length=3, max_length=300)]
