"""What is typed of a paddock for the choice, checked and as the domain reads it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.choice.facts import Sward
from forecaster.domain.choice.matters_most import Weight, weighed
from forecaster.domain.choice.typed import Typed
from forecaster.settings.names import unknown

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.errors import Fault
    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import FarmFile, PaddockEntry
    from forecaster.settings.library import Library

TACTICS = ("silage", "hay", "grazing", "other", "nothing")
"""What may have been done in a spring besides an active."""


def typed(entry: PaddockEntry, file: FarmFile) -> Typed:
    """The facts of one paddock, and the sum that names its weed."""
    sward, choice = entry.sward, entry.choice
    weights = {
        weed: Weight(each.harm, each.seed_life, each.because)
        for weed, each in file.weights.items()
    }
    return Typed(
        sward=Sward(
            clover=sward.clover,
            clover_stage=sward.clover_stage,
            clover_thin=sward.clover_thin,
            loss_accepted=sward.clover_loss_accepted,
            perennials=sward.perennials,
            perennials_per_m2=sward.perennials_per_m2,
            age_months=float("inf") if sward.established else None,
            to_be_sown=sward.to_be_sown,
        ),
        sown=None
        if sward.perennials_sown is None
        else np.datetime64(sward.perennials_sown, "D"),
        feed_short=choice.feed_short,
        on_offer=choice.feed_on_offer_kg_ha,
        priority_stock=choice.priority_stock,
        sheep=choice.sheep_enough,
        accepts_late=choice.late_effect_accepted,
        resists=dict(choice.resistance),
        last_springs=None
        if choice.last_springs is None
        else tuple(choice.last_springs),
        weighed=weighed(entry.weeds, weights),
        picked=entry.target is not None,
    )


def faults(document: Document, file: FarmFile, library: Library) -> Iterator[Fault]:
    """Names that are not known, and facts that cannot both be."""
    for weed in file.weights:
        if weed not in library.weeds:
            yield document.fault(
                ("weights", weed), unknown("weed", weed, library.weeds)
            )
    for number, paddock in enumerate(file.paddock):
        here = ("paddock", number)
        for active in paddock.choice.resistance:
            if active not in library.actives:
                yield document.fault(
                    (*here, "choice", "resistance", active),
                    unknown("active", active, library.actives),
                )
        known = (*library.actives, *TACTICS)
        for place, tactic in enumerate(paddock.choice.last_springs or []):
            if tactic not in known:
                yield document.fault(
                    (*here, "choice", "last_springs", place),
                    unknown("tactic", tactic, known),
                )
        if paddock.sward.established is not None and paddock.sward.perennials_sown:
            yield document.fault(
                (*here, "sward", "established"),
                "established and perennials_sown say the same; type the date alone",
            )
