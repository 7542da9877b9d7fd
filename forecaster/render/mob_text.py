"""A mob in a paddock before stock-off, as text and as plain values."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

from forecaster.domain.planning.mob import Fit
from forecaster.render import stock_text, words
from forecaster.render.after_json import tree as after_tree
from forecaster.render.after_words import in_full
from forecaster.render.json import stock_off_tree
from forecaster.render.plain_values import number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.planning.mob import Stocking
    from forecaster.domain.sourced import Sourced
    from forecaster.domain.stock_plan import FeedPlan, StockPlan

LABEL = 14


def render(plan: StockPlan, zone: str) -> str:
    """One paddock and mob, by the clock of ``zone``."""
    title = f"{plan.paddock}, {plan.hectares:.0f} ha: {plan.weed_name}"
    found = words.wrapped(title)
    for label, said in _entries(plan, words.LocalClock(zone)):
        body = textwrap.wrap(said, words.WIDTH - LABEL)
        found += [
            f"{f'  {label}' if i == 0 else '':{LABEL}}{part}"
            for i, part in enumerate(body)
        ]
    found += ["", *words.bullet(_behind(plan)), *words.bullet(CAUTION)]
    return "\n".join(found) + "\n"


CAUTION = (
    "DSE is the feed one dry sheep needs, DM dry matter. The mob is taken to graze the "
    "whole paddock evenly, and growth to stay as typed. Watch the pasture and the "
    "stock, not the sum."
)


def _entries(plan: StockPlan, clock: words.LocalClock) -> Iterator[tuple[str, str]]:
    if plan.after is not None:
        yield "after", in_full(plan.after, clock)
    else:
        yield from _before(plan)
    if plan.mob is None:
        yield "mob", "none known to be here; name its size with --dse"
        return
    yield "mob", _mob_words(plan, plan.mob)
    if plan.feed is not None:
        yield "feed", _feed_words(plan, plan.mob, plan.feed)


def _before(plan: StockPlan) -> Iterator[tuple[str, str]]:
    """Of a paddock that is to be sprayed."""
    yield from (
        stock_text.entries(plan.grazing)
        if plan.grazing is not None
        else [("stock off", stock_text.stock_off_words(plan.off))]
    )
    if plan.days_left is not None:
        yield "until then", _left_words(plan, plan.days_left)


def _left_words(plan: StockPlan, left: tuple[int, int]) -> str:
    first, last = left
    text = "no days are left" if last == 0 else f"{first} to {last} days from today"
    if plan.days_at_rate:
        text += (
            f"; stays typed give {plan.days_at_rate} days at {_rate(plan)} before "
            "stock-off"
        )
    return text


def _mob_words(plan: StockPlan, mob: Stocking) -> str:
    low, high = mob.holds
    text = (
        f"{mob.dse:,.0f} DSE is {mob.rate:.1f} DSE/ha: {mob.fit} ({_rate(plan)}); that "
        f"rate on {low:.0f} to {high:.0f} ha"
    )
    first, last = plan.days_left or (0, 0)
    if last == 0:
        return text
    if mob.fit is Fit.FEW:
        each = (first * mob.share[0], last * mob.share[1])
        return f"{text}; moved around, each hectare has {_span(*each)} days at it"
    if mob.fit is Fit.MANY:
        most = plan.most.value * plan.hectares
        return f"{text}; {most:,.0f} DSE would do, for {_span(first, last)} days"
    return f"{text}; {_span(first, last)} days at it before stock-off"


def _feed_words(plan: StockPlan, mob: Stocking, feed: FeedPlan) -> str:
    sums = (
        f"({feed.on_offer:,.0f} - {feed.leave:,.0f} kg DM/ha) / ({mob.rate:.1f} x "
        f"{plan.intake.value:g} - {feed.growth:g} kg DM/ha a day)"
    )
    if feed.on_offer < feed.leave:
        return f"less is there than is to be left: 0 days ({sums})"
    if math.isinf(feed.days):
        return f"growth outpaces the mob: it will not graze down ({sums})"
    text = f"{sums} = {feed.days:.0f} days"
    if plan.days_left is not None and feed.days < plan.days_left[0]:
        text += ", short of stock-off"
    return text


def _span(first: float, last: float) -> str:
    low, high = f"{first:.0f}", f"{last:.0f}"
    return low if low == high else f"{low} to {high}"


def _rate(plan: StockPlan) -> str:
    return f"{plan.least.value:g} to {plan.most.value:g} DSE/ha"


def _behind(plan: StockPlan) -> str:
    eaten = f"{plan.intake.value:g} kg DM a DSE a day"
    return (
        f"Spell and intake ({eaten}): {plan.intake.mark}. {_rate(plan)}: "
        f"{plan.least.mark}. See docs/method/grazing.md."
    )


def tree(plan: StockPlan) -> dict[str, Any]:
    """The plan as plain dicts and lists; units stand in the names."""
    mob, feed = plan.mob, plan.feed
    return {
        "paddock": plan.paddock,
        "hectares": number(plan.hectares),
        "weed_name": plan.weed_name,
        "today": str(plan.today),
        "stock_off": stock_off_tree(plan.off) if plan.after is None else None,
        "after": None if plan.after is None else after_tree(plan.after),
        "days_to_stock_off": None if plan.days_left is None else list(plan.days_left),
        "days_at_rate_typed": plan.days_at_rate,
        "rate_dse_per_ha": [_sourced(plan.least), _sourced(plan.most)],
        "intake_kg_dm_per_dse_day": _sourced(plan.intake),
        "mob": None
        if mob is None
        else {
            "dse": number(mob.dse),
            "dse_per_ha": number(mob.rate),
            "fit": mob.fit.value,
            "holds_ha": [number(each) for each in mob.holds],
            "days_at_rate": None
            if plan.days_left is None
            else [
                number(days * share)
                for days, share in zip(plan.days_left, mob.share, strict=True)
            ],
        },
        "feed": None
        if feed is None
        else {
            "on_offer_kg_dm_per_ha": number(feed.on_offer),
            "leave_kg_dm_per_ha": number(feed.leave),
            "growth_kg_dm_per_ha_day": number(feed.growth),
            "days": number(feed.days),
            "growth_outpaces_mob": math.isinf(feed.days),
        },
    }


def _sourced(value: Sourced) -> dict[str, Any]:
    return {"value": value.value, "mark": value.mark.value}
