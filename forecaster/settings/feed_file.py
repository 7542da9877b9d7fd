"""What may be typed of feed and prices, and what ships of feed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, TypeAlias

import numpy as np
from pydantic import AfterValidator, Field

from forecaster.domain.feed.typed import FeedNumbers, FeedTyped
from forecaster.domain.money.cost import PERCENT, Prices
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import (
    Date,
    Number,
    Strict,
    Text,
    read_document,
    validate,
    within,
)
from forecaster.settings.names import unknown
from forecaster.settings.numbers import SourcedNumber, bounded
from forecaster.settings.stock_file import MOST_DSE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import FarmFile
    from forecaster.settings.library import Library

Share: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("%", 1, 100))]
Days: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("d", 1, 365))]
Mass: TypeAlias = Annotated[Number, within(0, 20_000)]
Price: TypeAlias = Annotated[Number, within(0, 100_000)]


class GrowthEntry(Strict):
    """``[[feed.growth]]``: from a day on, until the next entry."""

    start: Date = Field(alias="from")
    kg_ha_day: Annotated[Number, within(0, 300)]


class FeedEntry(Strict):
    """``[feed]``."""

    dse: Annotated[Number, within(0, MOST_DSE, above=True)] | None = None
    on_offer_kg_ha: Mass | None = None
    leave_kg_ha: Mass | None = None
    intake_kg_dse_day: Annotated[Number, within(0.1, 5)] | None = None
    spoilage_percent: Annotated[Number, within(0, 100)] = 0.0
    other_hectares: Annotated[Number, within(0, 1_000_000)] = 0.0
    growth: list[GrowthEntry] = Field(default_factory=list)
    growth_until: Date | None = None


class PricesEntry(Strict):
    """``[prices]``: the user's own, all of them."""

    currency: Annotated[Text, Field(min_length=1, max_length=8)] = "$"
    spraying_per_ha: Price | None = None
    actives_per_ha: dict[str, Price] = Field(default_factory=dict)
    feed_per_tonne: Price | None = None
    weed_per_percent_ha: Annotated[Number, within(0, 100_000, above=True)] | None = None
    control_percent: Annotated[Number, within(0, 100, above=True)] | None = None


class LossTable(Strict):
    """``[loss]`` of ``config/feed.toml``."""

    least: Share
    most: Share


class ShortTable(Strict):
    """``[short]``."""

    ahead: Days


class FeedFile(Strict):
    """The whole file."""

    loss: LossTable
    short: ShortTable


def load_feed(path: Path) -> FeedNumbers:
    """What ships of feed.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of it.
    """
    document = read_document(path)
    file = validate(document, FeedFile)
    least, most = file.loss.least, file.loss.most
    if least.value > most.value:
        message = f"loss.least {least.value:g} must not be above most {most.value:g}"
        raise SettingsError([document.fault(("loss", "least"), message)])
    return FeedNumbers(least.sourced(), most.sourced(), file.short.ahead.sourced())


def typed_feed(entry: FeedEntry) -> FeedTyped:
    """As the domain reads it."""
    return FeedTyped(
        dse=entry.dse,
        on_offer=entry.on_offer_kg_ha,
        leave=entry.leave_kg_ha,
        intake=entry.intake_kg_dse_day,
        spoilage=entry.spoilage_percent / PERCENT,
        other_hectares=entry.other_hectares,
        growth=tuple(
            (np.datetime64(each.start, "D"), each.kg_ha_day) for each in entry.growth
        ),
        until=None
        if entry.growth_until is None
        else np.datetime64(entry.growth_until, "D"),
    )


def typed_prices(entry: PricesEntry) -> Prices:
    """As the domain reads them."""
    control = entry.control_percent
    return Prices(
        currency=entry.currency,
        spraying=entry.spraying_per_ha,
        actives=dict(entry.actives_per_ha),
        feed=entry.feed_per_tonne,
        weed=entry.weed_per_percent_ha,
        control=None if control is None else control / PERCENT,
    )


def faults(document: Document, file: FarmFile, library: Library) -> Iterator[Fault]:
    """Growth out of order, and actives that are not known."""
    for active in file.prices.actives_per_ha:
        if active not in library.actives:
            yield document.fault(
                ("prices", "actives_per_ha", active),
                unknown("active", active, library.actives),
            )
    growth = file.feed.growth
    for place in range(1, len(growth)):
        if growth[place].start <= growth[place - 1].start:
            yield document.fault(
                ("feed", "growth", place, "from"),
                f"from = {growth[place].start} must be after {growth[place - 1].start} "
                "of the entry before it",
            )
    until = file.feed.growth_until
    if until is not None and growth and until <= growth[-1].start:
        yield document.fault(
            ("feed", "growth_until"),
            f"growth_until = {until} must be after {growth[-1].start}, where the last "
            "growth starts",
        )
