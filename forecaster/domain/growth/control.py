"""What published trials say a spray prevents, by the stage a head stands at.

A trial tells a few stages. What lies between two of them is bounded by both; what
lies outside them is not known, and is carried as anything from nothing to the nearest
stage told, so that a range shows where the trial ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from forecaster.domain.growth.heads import STAGES
from forecaster.domain.sourced import Mark, Sourced

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.growth.weed import Mode, Weed
    from forecaster.domain.weather import Floats


Trial: TypeAlias = "Mapping[Stage | None, Sourced]"
"""[share] of live seed prevented with all heads in a class; None: not out yet."""

CLASSES: tuple[Stage | None, ...] = (None, *STAGES)
"""Classes of heads: not out yet, then those at each stage and not yet at the next."""


OUTSIDE = "not known: outside the stages of the published trial"
"""The source of a control that no trial bounds."""


@dataclass(frozen=True, slots=True)
class WeedControl:
    """What is published on spraying one weed."""

    weed: str
    carry_over: Sourced
    """[share] of next year's seedlings that come from older seed."""
    trials: Mapping[Mode, Trial]
    """Missing mode: no published trial."""
    note: str


def by_class(trial: Trial, weed: Weed) -> tuple[Sourced, ...]:
    """Control of a head that is not out yet, and of one at each stage.

    A published number stands for the heads at its stage and not yet at the next.
    Between two of them the control runs straight in thermal time, within the bounds of
    both; outside them it lies between nothing and the high end of the nearest, with
    half of that one's number as its middle. Both rules are assumed.

    Parameters
    ----------
    trial : mapping
        Published control by class; not empty. [share 0…1]
    weed : Weed
        Its offsets place the stages.

    Returns
    -------
    tuple of 1 + stages numbers
        In the order of :data:`CLASSES`. [share 0…1]
    """
    told = [place for place, each in enumerate(CLASSES) if each in trial]
    return tuple(_at(place, trial, told, weed) for place in range(len(CLASSES)))


def levels(classes: tuple[Sourced, ...]) -> Floats:
    """Low, middle and high of each class: (3, classes) [share 0…1]."""
    return np.array(
        [
            [each.low for each in classes],
            [each.value for each in classes],
            [each.high for each in classes],
        ]
    )


def seedlings_next_year(prevented: Floats, carry_over: Floats) -> Floats:
    """Seedlings next year as a share of those without the spray.

    Of next year's seedlings the share c comes from older seed, which this spray does
    not touch, and 1 − c from the seed it prevents: (1 − k)(1 − c) + c. Derived.

    Parameters
    ----------
    prevented : array
        k, the share of this year's live seed prevented. [share 0…1]
    carry_over : array
        c, the share of next year's seedlings from older seed. [share 0…1]

    Returns
    -------
    array
        [share 0…1] NaN where either is.
    """
    return (1.0 - prevented) * (1.0 - carry_over) + carry_over


def _at(place: int, trial: Trial, told: list[int], weed: Weed) -> Sourced:
    if place in told:
        return trial[CLASSES[place]]
    before = [each for each in told if each < place]
    after = [each for each in told if each > place]
    if not before or not after:
        return _outside(trial[CLASSES[before[-1] if before else after[0]]])
    near = (CLASSES[before[-1]], CLASSES[after[0]])
    value = np.interp(
        _offset(weed, CLASSES[place]),
        [_offset(weed, each) for each in near],
        [trial[each].value for each in near],
    )
    return Sourced(
        value=float(value),
        unit="share",
        low=min(trial[each].low for each in near),
        high=max(trial[each].high for each in near),
        source="our own, between two stages of the published trial",
        page="straight in thermal time, within the bounds of both",
        mark=Mark.ASSUMED,
    )


def _offset(weed: Weed, each: Stage | None) -> float:
    """[°C d] from heading; heads not out end where heading begins."""
    return 0.0 if each is None else weed.offset(each)


def _outside(nearest: Sourced) -> Sourced:
    return Sourced(
        value=nearest.value / 2.0,
        unit="share",
        low=0.0,
        high=nearest.high,
        source=OUTSIDE,
        page="from nothing to the nearest stage told; the middle is half of it",
        mark=Mark.ASSUMED,
    )
