"""A farm's feed in words, and as plain values."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from forecaster.render import words
from forecaster.render.money_words import cost_tree, cost_words
from forecaster.render.plain_values import number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.feed.plan import FeedPlan, PaddockFeed, Short

LABEL = 14
CAUTION = (
    "The whole farm is taken as one paddock, stock as able to reach all of it, and "
    "growth as you typed it. Watch the pasture and the stock, not the sum. See "
    "docs/method/feed.md."
)


DEMO = "DEMO FARM: its paddocks, stock, feed and growth are invented."


def render(plan: FeedPlan, currency: str, *, demo: bool = False) -> str:
    """The farm."""
    found = words.wrapped(DEMO) if demo else []
    found += words.wrapped(f"{plan.farm}: feed from {words.date(plan.today)}")
    for label, said in _entries(plan, currency):
        body = textwrap.wrap(said, words.WIDTH - LABEL)
        found += [
            f"{f'  {label}' if place == 0 else '':{LABEL}}{part}"
            for place, part in enumerate(body)
        ]
    found.append("")
    if plan.numbers is not None:
        least, most = plan.numbers.least, plan.numbers.most
        found += words.bullet(
            f"Growth lost by spraying: {least.value:.0f} % ({least.mark}) to "
            f"{most.value:.0f} % ({most.mark})."
        )
    found += words.bullet(CAUTION)
    return "\n".join(found) + "\n"


def _entries(plan: FeedPlan, currency: str) -> Iterator[tuple[str, str]]:
    if plan.missing:
        yield "needs", f"type in [feed] of the farm file: {', '.join(plan.missing)}"
        return
    yield "stock", _stock(plan)
    names = ", ".join(each.name for each in plan.paddocks) or "no paddock"
    days = f"{_span(plan.days, 1)} days of feed for all stock"
    yield "loss", f"{_tonnes(plan.lost)} t DM if sprayed: {names}; {days}"
    if plan.unsprayed is not None and plan.sprayed is not None:
        yield "unsprayed", short_words(plan.unsprayed, plan)
        yield "all sprayed", short_words(plan.sprayed, plan)
    for each in plan.paddocks:
        yield from _paddock(each, plan, currency)


def _stock(plan: FeedPlan) -> str:
    return (
        f"{plan.dse:,.0f} DSE on {plan.hectares:,.0f} ha eat {plan.eaten:,.0f} kg DM a "
        f"day; {plan.grown:,.0f} kg DM/ha still grow"
    )


def _paddock(
    each: PaddockFeed, plan: FeedPlan, currency: str
) -> Iterator[tuple[str, str]]:
    lost = f"{_tonnes(each.lost)} t DM, {_span(each.days, 1)} days"
    alone, without = (short_words(one, plan) for one in (each.alone, each.without))
    said = f"{lost}; alone {alone}; left out {without}"
    yield "paddock", f"{each.name}, {each.hectares:g} ha: {said}"
    for cost in each.costs:
        yield "", cost_words(cost, currency)


def short_words(short: Short, plan: FeedPlan) -> str:
    """``short from 3 Nov``, or not before growth ends, or unknown."""
    if not short.known:
        return "unknown: growth is not typed for every day"
    if short.day is not None:
        return f"short from {words.date(short.day)}"
    assert plan.until is not None  # noqa: S101 - a budget has an end
    return f"not short before {words.date(plan.until)}"


def _tonnes(kilograms: tuple[float, float]) -> str:
    return _span((kilograms[0] / 1000.0, kilograms[1] / 1000.0), 1)


def _span(pair: tuple[float, float], places: int) -> str:
    low, high = (f"{each:,.{places}f}" for each in pair)
    return low if low == high else f"{low} to {high}"


def tree(plan: FeedPlan, currency: str, *, demo: bool = False) -> dict[str, Any]:
    """The plan as plain dicts and lists; units stand in the names."""
    return {
        "farm": plan.farm,
        "demo": demo,
        "today": str(plan.today),
        "growth_until": None if plan.until is None else str(plan.until),
        "missing": list(plan.missing),
        "dse": number(plan.dse),
        "eaten_kg_dm_per_day": number(plan.eaten),
        "hectares": number(plan.hectares),
        "grown_kg_dm_per_ha": number(plan.grown),
        "lost_kg_dm": [number(each) for each in plan.lost],
        "days_of_feed": [number(each) for each in plan.days],
        "unsprayed": _short(plan.unsprayed),
        "sprayed": _short(plan.sprayed),
        "currency": currency,
        "paddocks": [
            {
                "name": each.name,
                "hectares": number(each.hectares),
                "lost_kg_dm": [number(part) for part in each.lost],
                "days_of_feed": [number(part) for part in each.days],
                "alone": _short(each.alone),
                "left_out": _short(each.without),
                "costs": [cost_tree(cost) for cost in each.costs],
            }
            for each in plan.paddocks
        ],
        "caution": CAUTION,
    }


def _short(short: Short | None) -> dict[str, Any] | None:
    if short is None:
        return None
    day = None if short.day is None else str(short.day)
    return {"known": short.known, "short_from": day}
