"""Which look is worth most, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render import words
from forecaster.render.after_json import day_text
from forecaster.render.after_words import look_again_words
from forecaster.render.plain_values import number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.look_advice import LookAdvice, SecondLook

MOST = 12
"""Looks told; the rest are counted."""


def render(
    farm: str, advice: Sequence[LookAdvice], again: Sequence[SecondLook] = ()
) -> str:
    """Second looks that are due, then the others in order of their worth."""
    ahead = _ahead(farm, advice)
    if not again:
        return ahead
    due = [f"{each.paddock}: {look_again_words(each.after)}" for each in again]
    told = [line for each in due for line in words.bullet(each)]
    head = words.wrapped(f"{farm}: sprayed, and to be looked at again.")
    return "\n".join([*head, *told, "", ahead])


def _ahead(farm: str, advice: Sequence[LookAdvice]) -> str:
    """Looks before a spray."""
    if not advice:
        return (
            f"{farm}: no look would tell when to spray: every paddock is sprayed, or "
            "the season's warmth or its break is not known.\n"
        )
    found = words.wrapped(f"{farm}: where to count heads next, worth most first.")
    for place, each in enumerate(advice[:MOST], start=1):
        head = f"{place}. {each.paddock}: {each.weed_name}, for the {each.mode} active"
        found += ["", *words.wrapped(head), *(_indented(line) for line in _told(each))]
    if len(advice) > MOST:
        found += ["", f"and {len(advice) - MOST} more, worth less"]
    note = (
        "A wrong call is to hold a window for open that is not, or the reverse, on an "
        "average day of the coming week. A look is no licence to spray: label, hours "
        "and the gate still decide."
    )
    return "\n".join([*found, "", *words.wrapped(note)]) + "\n"


def _told(each: LookAdvice) -> list[str]:
    narrows = (
        f"30 heads would narrow the dates from {each.range_now:.0f} to about "
        f"{each.range_after:.0f} days and spare {each.hectares_spared:.1f} ha of wrong "
        "calls"
    )
    return [
        f"count the heads past this: {each.stage_words}",
        f"window open today {words.in_ten(each.chance_open)}; {_needed(each)}",
        narrows,
    ]


def _needed(each: LookAdvice) -> str:
    if each.heads_needed == 0:
        return "no count is needed to tell that today"
    if each.heads_needed is None:
        return "no count settles that today, so look again in a few days"
    return f"about {each.heads_needed} heads tell that today"


def _indented(text: str) -> str:
    return "\n".join(f"   {line}" for line in words.wrapped(text, words.WIDTH - 3))


def tree(
    farm: str, advice: Sequence[LookAdvice], again: Sequence[SecondLook] = ()
) -> dict[str, Any]:
    """The same as plain values."""
    return {
        "farm": farm,
        "second_looks": [
            {
                "paddock": each.paddock,
                "sprayed": day_text(each.after.sprayed),
                "between": [day_text(day) for day in each.after.look_again],
            }
            for each in again
        ],
        "looks": [
            {
                "paddock": each.paddock,
                "hectares": number(each.hectares),
                "weed": each.weed,
                "mode": each.mode,
                "count_heads_past": each.stage_words,
                "chance_open": number(each.chance_open),
                "heads_needed": each.heads_needed,
                "range_days_now": number(each.range_now),
                "range_days_after_30_heads": number(each.range_after),
                "hectares_of_wrong_calls_spared": number(each.hectares_spared),
            }
            for each in advice
        ],
    }
