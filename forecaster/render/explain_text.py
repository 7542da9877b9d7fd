"""Which numbers an outlook rests on, as text and as plain values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from forecaster.render import chance_words, words
from forecaster.render.flag_words import flag_tree, refusal_words
from forecaster.render.plain_values import number

if TYPE_CHECKING:
    from forecaster.domain.explanation import DateChange, Explanation
    from forecaster.domain.sourced import Sourced


def render(explanation: Explanation) -> str:
    """Numbers, limits and what would change them."""
    found = words.wrapped(
        f"{explanation.paddock}: why {explanation.active} on {explanation.weed_name} "
        f"({explanation.latin}) is what it is"
    )
    found += [
        f"{explanation.good_hours} of {explanation.hours} hours this week are good.",
        "",
        "What would change it",
    ]
    found += words.bullet(
        "A count of heads in this paddock: worth more than every number below."
    )
    for change in explanation.changes:
        found += words.bullet(_change(change))
    for line in sorted(explanation.limits, key=lambda each: -each.hours_gained):
        if line.hours_gained > 0:
            found += words.bullet(
                f"Without the limit {line.limit.id} alone: {line.hours_gained} good "
                f"hours more. It stays."
            )
    found += _refused(explanation)
    found += ["", "Limits, each with its rank and source"]
    for line in explanation.limits:
        limit = line.limit
        state = "" if limit.confirmed else ", NOT CONFIRMED: no hour can be good"
        hold = ", the farm holds on it" if limit.holds else ""
        found += words.bullet(
            f"{limit.id} ({limit.rank}{state}{hold}): {limit.words} {limit.side.value} "
            f"{_number(limit.stated)}"
        )
    found += ["", "What the chances are made from"]
    found += words.wrapped(chance_words.sentence(explanation.basis))
    found += chance_words.lines(explanation.basis)
    found += ["", f"Numbers of {explanation.weed_name}"]
    for item in explanation.numbers:
        found += words.bullet(f"{item.what}: {_number(item.number)}")
    found += ["", *words.wrapped(explanation.note)]
    if explanation.trial_note:
        found += ["", *words.wrapped(explanation.trial_note)]
    return "\n".join(found) + "\n"


def _refused(explanation: Explanation) -> list[str]:
    """Values that failed a check and leave hours unknown; nothing where none did."""
    if not explanation.refused:
        return []
    clock = words.LocalClock(explanation.place.zone)
    found = ["", "Values that failed a check, and the hours unknown for want of them"]
    for line in explanation.refused:
        hour = line.value.time
        said = refusal_words(line.value, hour, clock)
        found += words.bullet(f"{clock.hour(hour)}: {said}; {line.hours} h")
    return found


def _change(change: DateChange) -> str:
    parts = []
    for what, days in (("heads", change.heading), ("the close", change.close)):
        if math.isnan(days) or math.isinf(days):
            parts.append(f"{what} cannot be told")
        elif not round(abs(days)):
            moves = "move" if what == "heads" else "moves"
            parts.append(f"{what} {moves} less than a day")
        else:
            later = "later" if days > 0 else "earlier"
            parts.append(f"{what} {words.count(round(abs(days)), 'day')} {later}")
    return f"With the {change.what}: {', '.join(parts)}."


def _number(sourced: Sourced) -> str:
    span = (
        f" ({sourced.low:g} to {sourced.high:g})" if sourced.low != sourced.high else ""
    )
    return (
        f"{sourced.value:g} {sourced.unit}{span}. {sourced.source}, {sourced.page} "
        f"[{sourced.mark}]"
    )


def tree(explanation: Explanation) -> dict[str, Any]:
    """The explanation as plain dicts and lists."""
    return {
        "paddock": explanation.paddock,
        "weed_name": explanation.weed_name,
        "latin": explanation.latin,
        "active": explanation.active,
        "good_hours": explanation.good_hours,
        "hours": explanation.hours,
        "numbers": [
            {"what": item.what, **_sourced(item.number)} for item in explanation.numbers
        ],
        "limits": [
            {
                "limit": line.limit.id,
                "rank": line.limit.rank.value,
                "side": line.limit.side.value,
                "words": line.limit.words,
                "confirmed": line.limit.confirmed,
                "holds": line.limit.holds,
                "hours_gained_without": line.hours_gained,
                **_sourced(line.limit.stated),
            }
            for line in explanation.limits
        ],
        "changes": [
            {
                "what": change.what,
                "heading_days": number(change.heading),
                "close_days": number(change.close),
            }
            for change in explanation.changes
        ],
        "chance_from": chance_words.tree(explanation.basis),
        "refused": [
            {**flag_tree(line.value), "hours_unknown": line.hours}
            for line in explanation.refused
        ],
        "note": explanation.note,
        "trial_note": explanation.trial_note,
    }


def _sourced(sourced: Sourced) -> dict[str, Any]:
    return {
        "value": sourced.value,
        "unit": sourced.unit,
        "low": sourced.low,
        "high": sourced.high,
        "source": sourced.source,
        "page": sourced.page,
        "mark": sourced.mark.value,
    }
