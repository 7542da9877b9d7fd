"""Costs in the user's own money."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render.plain_values import number

if TYPE_CHECKING:
    from forecaster.domain.money.cost import Cost


def cost_words(cost: Cost, currency: str) -> str:
    """``glyphosate $22.00/ha, feed $9.00 to $15.00/ha: …``."""
    feed = (
        "feed not priced"
        if cost.feed is None
        else f"feed {_span(cost.feed, currency, 2)}/ha"
    )
    text = (
        f"{cost.active} {currency}{cost.spray:,.2f}/ha, {feed}: "
        f"{_span(cost.total, currency, 0)} for the paddock"
    )
    if cost.break_even is None:
        return f"{text}; break-even not told without what weed costs and what is saved"
    return f"{text}; pays from {_span(cost.break_even, '', 0)} % of weed (your prices)"


def cost_tree(cost: Cost) -> dict[str, Any]:
    """The same as plain values."""
    return {
        "active": cost.active,
        "spray_per_ha": number(cost.spray),
        "feed_per_ha": _pair(cost.feed),
        "total": _pair(cost.total),
        "break_even_percent": _pair(cost.break_even),
    }


def _pair(pair: tuple[float, float] | None) -> list[float | None] | None:
    return None if pair is None else [number(each) for each in pair]


def _span(pair: tuple[float, float], currency: str, places: int) -> str:
    low, high = (f"{currency}{each:,.{places}f}" for each in pair)
    return low if low == high else f"{low} to {high}"
