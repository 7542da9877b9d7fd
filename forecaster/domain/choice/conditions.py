"""Every condition of the decision table by its name in ``config/choice.toml``."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from forecaster.domain.choice import paddock_conditions as paddock
from forecaster.domain.choice import stage_conditions as stage

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.choice.judged import Condition

_ALL: tuple[Condition, ...] = (
    stage.all_hard,
    stage.heads_not_out,
    stage.headed,
    stage.heading_or_flower,
    stage.in_milk,
    stage.in_dough,
    stage.before_dough,
    stage.all_out,
    stage.uneven,
    stage.even,
    stage.weeds_differ,
    stage.window_open,
    stage.window_ahead,
    stage.window_over,
    stage.windows_over,
    stage.no_block,
    paddock.no_label,
    paddock.toxicity,
    paddock.no_toxicity,
    paddock.resists,
    paddock.may_resist,
    paddock.third_spring,
    paddock.feed_short,
    paddock.priority_stock,
    paddock.few_perennials,
    paddock.thin_clover,
    paddock.no_sowing,
    paddock.capeweed,
    paddock.not_capeweed,
    paddock.clover_no_concern,
    paddock.clover_at_stake,
    paddock.loss_accepted,
    paddock.late_accepted,
    paddock.no_contact,
    paddock.perennials_wanted,
    paddock.young_sward,
    paddock.long_lived,
    paddock.same_again,
    paddock.small_paddock,
    paddock.sheep_enough,
)
CONDITIONS: Mapping[str, Condition] = MappingProxyType(
    {each.__name__: each for each in _ALL}
)
"""A condition's name is that of its function."""


def words_of(name: str) -> str:
    """What a condition asks, in words: the first line of its own description."""
    said = (CONDITIONS[name].__doc__ or name).strip().splitlines()[0]
    return (said[0].lower() + said[1:]).rstrip(".")
