"""The choice of an active in words, and as plain values."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from forecaster.domain.choice.conditions import words_of
from forecaster.domain.choice.rows import Answer, Kind
from forecaster.render import words
from forecaster.render.money_words import cost_tree, cost_words
from forecaster.render.plain_values import iso, number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.advice import Advice
    from forecaster.domain.choice.decide import Asked, Choice, OfActive
    from forecaster.domain.choice.rows import Row
    from forecaster.domain.outlook import ActiveOutlook
    from forecaster.domain.sourced import Sourced

LABEL = 14
_FIXED = frozenset({"no_label", "capeweed", "not_capeweed", "toxicity"})
"""Conditions that no day and no count of heads will turn."""
CAUTION = (
    "The label, the law and a look at the paddock come first. No rate is given here: "
    "read yours on the label. How it is decided: docs/method/choice.md."
)


def render(said: Advice) -> str:
    """One paddock."""
    clock = words.LocalClock(said.zone)
    found = []
    if said.demo:
        found += words.wrapped(
            "DEMO FARM: its paddocks, labels and facts are invented."
        )
    title = f"{said.paddock}, {said.hectares:.0f} ha: {said.weed_name}"
    found += words.wrapped(f"{title}. For {clock.full(said.now)}.")
    for label, line in _entries(said):
        body = textwrap.wrap(line, words.WIDTH - LABEL)
        found += [
            f"{f'  {label}' if place == 0 else '':{LABEL}}{part}"
            for place, part in enumerate(body)
        ]
    found.append("")
    for caution in (*said.cautions, CAUTION):
        found += words.bullet(caution)
    return "\n".join(found) + "\n"


def _entries(said: Advice) -> Iterator[tuple[str, str]]:
    choice = said.choice
    if said.sprayed is not None:
        when = words.date(said.sprayed)
        yield "sprayed", f"on {when}; what follows is about another pass"
    yield "answer", _answer(choice)
    if choice.fired is not None:
        row = choice.fired.row
        seen = dict.fromkeys(judged.seen for _, judged in choice.fired.seen)
        yield "why", f"row {row.id}: {row.why}"
        yield "source", f"{row.source}, {row.page} ({row.mark})"
        yield "here", "; ".join(seen)
    for text, value in said.numbers:
        yield "costs", f"{text}: {_range(value)} ({value.mark})"
    for each in choice.also:
        yield "also", f"row {each.row.id}: {each.row.advice}"
    for each in choice.added:
        yield "with it", _added(each)
    for each in _once(choice.not_checked):
        yield "NOT CHECKED", _not_checked(each)
    for each in choice.unknown:
        yield "unknown", f"{_name(each)} ({each.row.advice}): needs {_needs(each)}"
    for own in choice.actives:
        outlook = next(one for one in said.actives if one.active == own.active)
        yield own.active, _of_active(own, outlook)
    yield from _changes(choice)
    for cost in said.costs:
        yield "money", cost_words(cost, said.currency)
    yield "weed", _weighed(said)


def _answer(choice: Choice) -> str:
    if choice.fired is None:
        return "UNKNOWN: no row of the table can be found to hold"
    row = choice.fired.row
    who = "" if choice.fired.active is None else f" {choice.fired.active}"
    unseen = len(_once(choice.not_checked))
    but = (
        f" ({words.count(unseen, 'row')} against it NOT CHECKED)"
        if unseen and _goes(row)
        else ""
    )
    return f"{row.answer.value.upper()}{who}{but}: {row.advice}"


def _goes(row: Row) -> bool:
    return row.answer in {Answer.SPRAY, Answer.ASK}


def _added(each: Asked) -> str:
    seen = "; ".join(judged.seen for _, judged in each.seen)
    return f"{_name(each)}: {each.row.advice} ({seen}; {each.row.mark})"


def _not_checked(each: Asked) -> str:
    would = "stop it" if each.row.kind is Kind.STOP else "bar an active"
    return f"row {each.row.id}, which would {would}: needs {_needs(each)}"


def _once(found: tuple[Asked, ...]) -> list[Asked]:
    """Each row once: what it needs is the same for every active."""
    return list({each.row.id: each for each in found}.values())


def _needs(each: Asked) -> str:
    return "; ".join(judged.seen for _, judged in each.seen if judged.holds is None)


def _name(each: Asked) -> str:
    about = "" if each.active is None else f", {each.active}"
    return f"row {each.row.id}{about}"


def _of_active(each: OfActive, outlook: ActiveOutlook) -> str:
    window = f"window {outlook.status}"
    if each.by is None:
        return f"no row names it as things stand; {window}"
    if each.by.holds is None:
        return f"unknown by row {each.by.row.id}: needs {_needs(each.by)}; {window}"
    row = each.by.row
    return f"{row.answer} by row {row.id}: {row.advice}; {window}"


def _changes(choice: Choice) -> Iterator[tuple[str, str]]:
    for each in choice.changes:
        name, judged = each.missing[0]
        if judged.holds is None or name in _FIXED:
            continue  # told as not checked or unknown, or it will not change
        yield "if instead", f"{words_of(name)}: {each.row.answer}, {_name(each)}"
    if choice.then is not None:
        row = choice.then.row
        yield "otherwise", f"{row.answer} by {_name(choice.then)}: {row.advice}"


def _weighed(said: Advice) -> str:
    sums = "; ".join(
        f"{name} {each.share:g} % x {each.weight.harm:g} x {each.weight.seed_life:g} = "
        f"{each.product:g}"
        for name, each in said.weighed
    )
    typed = all(each.weight.because for _, each in said.weighed)
    weights = "harm and seed life" + ("" if typed else ", 1 where not typed (assumed)")
    by = "named by you" if said.picked else "by the largest sum"
    return f"{said.weed_name} matters most, {by}: share x {weights}: {sums}"


def _range(value: Sourced) -> str:
    if value.low == 0:
        return f"up to {value.high:g} {value.unit}"
    return f"{value.low:g} to {value.high:g} {value.unit}"


def tree(said: Advice) -> dict[str, Any]:
    """The advice as plain dicts and lists."""
    choice = said.choice
    return {
        "paddock": said.paddock,
        "hectares": number(said.hectares),
        "now": iso(said.now),
        "demo": said.demo,
        "sprayed": None if said.sprayed is None else str(said.sprayed),
        "answer": choice.answer.value,
        "fired": None if choice.fired is None else _row(choice.fired),
        "numbers": [
            {"words": text, "low": value.low, "high": value.high, "unit": value.unit,
             "source": value.source, "mark": value.mark.value}
            for text, value in said.numbers
        ],
        "also": [_row(each) for each in choice.also],
        "added": [_row(each) for each in choice.added],
        "not_checked": [_row(each) for each in choice.not_checked],
        "unknown": [_row(each) for each in choice.unknown],
        "actives": [
            {"active": each.active, "answer": each.answer.value,
             "by": None if each.by is None else _row(each.by)}
            for each in choice.actives
        ],
        "would_change": [_row(each) for each in choice.changes],
        "otherwise": None if choice.then is None else _row(choice.then),
        "weed": {
            "name": said.weed_name,
            "picked": said.picked,
            "weighed": [
                {"weed": each.weed, "share_percent": each.share,
                 "harm": each.weight.harm, "seed_life": each.weight.seed_life,
                 "because": each.weight.because or None, "product": each.product}
                for _, each in said.weighed
            ],
        },
        "costs": [cost_tree(each) for each in said.costs],
        "currency": said.currency,
        "cautions": [*said.cautions, CAUTION],
    }  # fmt: skip


def _row(each: Asked) -> dict[str, Any]:
    row = each.row
    return {
        "row": row.id,
        "kind": row.kind.value,
        "active": each.active,
        "holds": each.holds,
        "answer": None if row.kind is Kind.ADD else row.answer.value,
        "advice": row.advice,
        "why": row.why,
        "source": row.source,
        "page": row.page,
        "mark": row.mark.value,
        "conditions": [
            {"name": name, "asks": words_of(name), "holds": judged.holds,
             "seen": judged.seen}
            for name, judged in each.seen
        ],
    }  # fmt: skip
