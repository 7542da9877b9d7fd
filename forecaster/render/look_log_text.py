"""Looks as text and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.domain.growth.count_shares import shares_past, widest
from forecaster.domain.growth.heads import STAGES
from forecaster.render import words
from forecaster.render.plain_values import iso, taken_back
from forecaster.settings.stage_words import class_name, spoken

if TYPE_CHECKING:
    from forecaster.domain.growth.count_shares import SharePast
    from forecaster.domain.growth.look import Look, LookClass
    from forecaster.domain.growth.look_log import LookEntry, LookLog
    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.sourced import Sourced
    from forecaster.render.words import LocalClock

PERCENT = 100.0


def understood(look: Look, weed: str, clock: LocalClock, enough: Sourced) -> list[str]:
    """A look in words: where and when, heads by class, shares and their limits.

    Fewer heads than ``enough`` are called a small sample.
    """
    shares = shares_past(look)
    return [
        *words.wrapped(
            f"{look.paddock}, {weed}, {clock.full(look.moment)}, by {look.author}"
        ),
        *words.wrapped(counted(look)),
        *(line for share in shares for line in words.bullet(_share(share))),
        *(line for text in sureness(look, enough) for line in words.wrapped(text)),
    ]


def counted(look: Look) -> str:
    """``100 heads: 40 not out, 60 from heading on``."""
    if not look.heads:
        return "no head was found"
    classes = [each for each, _ in look.counts]
    after = [*classes[1:], None]
    parts = [
        f"{count} {_reach(each, later)}"
        for (each, count), later in zip(look.counts, after, strict=True)
    ]
    first = classes[0]
    if first is not None:
        parts.insert(0, f"none before {_name(first)}")
    return f"{look.heads} {_heads(look.heads)}: {', '.join(parts)}"


def sureness(look: Look, enough: Sourced) -> list[str]:
    """What so few heads cannot tell, and that they are few where they are."""
    found = widest(shares_past(look))
    if found is None:
        return []
    few = look.heads < enough.value
    size = f"A small sample, under {enough.value:g} heads ({enough.mark}): "
    told = f"{look.heads} {_heads(look.heads)} cannot tell {_percent(found.low)} from"
    advice = f" Count {enough.value:g} or more."
    return [
        f"{size if few else ''}{told} {_percent(found.high)}.{advice if few else ''}"
    ]


def listing(log: LookLog, weeds: dict[str, str], clock: LocalClock) -> str:
    """The log, one look under another, withdrawn ones marked.

    ``weeds`` gives the name of each weed id.
    """
    lines: list[str] = []
    for entry in log.entries:
        look = entry.look
        name = weeds.get(look.weed, look.weed)
        lines += [look.id, *words.under(_facts(entry, name, clock)), ""]
    count = len(log.entries)
    gone = count - len(log.standing)
    more = f", {gone} of them withdrawn" if gone else ""
    lines += [
        f"{count} look{'' if count == 1 else 's'}{more}." if count else "No looks yet."
    ]
    for warning in log.warnings:
        lines += words.bullet(warning)
    return "\n".join(lines) + "\n"


def tree(log: LookLog) -> dict[str, Any]:
    """The log as plain dicts and lists."""
    return {
        "looks": [_entry(each) for each in log.entries],
        "warnings": list(log.warnings),
    }


def _facts(entry: LookEntry, weed: str, clock: LocalClock) -> list[str]:
    look = entry.look
    found = [
        f"{look.paddock}, {weed}, {clock.full(look.moment)}, by {look.author}",
        counted(look),
    ]
    if entry.withdrawn is not None:
        by, why = entry.withdrawn.author, entry.withdrawn.reason
        day = clock.full(entry.withdrawn.recorded)
        found.insert(0, f"WITHDRAWN by {by}, {day}: {why}")
    found += [f"note: {look.note}"] if look.note else []
    found += [f"photo: {look.photo}"] if look.photo else []
    return [*found, f"recorded {clock.full(entry.recorded)}"]


def _entry(entry: LookEntry) -> dict[str, Any]:
    look = entry.look
    return {
        "id": look.id,
        "paddock": look.paddock,
        "weed": look.weed,
        "moment": iso(look.moment),
        "heads": look.heads,
        "counts": {class_name(each): count for each, count in look.counts},
        "typed": [{"word": word, "heads": count} for word, count in entry.typed],
        "shares_past": [
            {
                "stage": class_name(each.stage),
                "past": each.past,
                "share": each.share,
                "low_95": each.low,
                "high_95": each.high,
            }
            for each in shares_past(look)
        ],
        "author": look.author,
        "note": look.note,
        "photo": look.photo,
        "recorded": iso(entry.recorded),
        "withdrawn": taken_back(entry.withdrawn),
    }


def _reach(which: LookClass, later: Stage | None) -> str:
    """Which stages a class spans, up to ``later`` or without end."""
    if which is None:
        return "not out" if later in {None, STAGES[0]} else f"before {_name(later)}"
    if later is None:
        return f"from {_name(which)} on"
    following = STAGES[STAGES.index(which) + 1]
    if later is following:
        return f"at {_name(which)}"
    return f"from {_name(which)} to before {_name(later)}"


def _share(share: SharePast) -> str:
    return (
        f"{_name(share.stage)} or past it: {share.past} of {share.heads}, "
        f"{_percent(share.share)} (95 % interval {PERCENT * share.low:.0f} to "
        f"{_percent(share.high)})"
    )


def _name(which: LookClass) -> str:
    return spoken(class_name(which))


def _heads(count: int) -> str:
    return "head" if count == 1 else "heads"


def _percent(share: float) -> str:
    return f"{PERCENT * share:.0f} %"
