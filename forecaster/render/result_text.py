"""Did the spray work? One paddock and spring as text."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING

from forecaster.domain.result.expected import Cause, Evidence, Found, carry_over_needed
from forecaster.domain.result.reduction import FEW
from forecaster.domain.result.spring_clock import TEST_AT
from forecaster.render import head_words, words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.result.expected import Expected, Likely
    from forecaster.domain.result.reduction import Strip
    from forecaster.domain.result.result_page import ResultPage

LABEL = 13
CAUTION = (
    "Counts compare the two strips as they lie: soil, stock and seed blown in differ "
    "too. They cannot tell resistance; a test of seed or plants can."
)


def render(page: ResultPage) -> str:
    """The whole page."""
    with_active = f", {page.active}" if page.active else ""
    title = f"{page.paddock}: {page.weed_name}, spray of spring {page.year}"
    found = head_words.demo_lines(demo=page.demo)
    found += words.wrapped(f"{title}{with_active}")
    for label, said in _entries(page):
        body = textwrap.wrap(said, words.WIDTH - LABEL)
        found += [
            f"{f'  {label}' if i == 0 else '':{LABEL}}{part}"
            for i, part in enumerate(body)
        ]
    if page.causes:
        found += [
            "",
            "What may lie behind it, what was told first (the order is assumed):",
        ]
        found += [
            line for each in page.causes for line in words.bullet(_cause(page, each))
        ]
    found += ["", *words.bullet(_behind(page)), *words.bullet(CAUTION)]
    found += [line for each in page.remarks for line in words.bullet(each)]
    return "\n".join(found) + "\n"


def _entries(page: ResultPage) -> Iterator[tuple[str, str]]:
    if page.by_record:
        told = {"active": page.active, "stage": words_of_stage(page)}
        given = ", ".join(f"{name} {told[name]}" for name in page.by_record)
        yield "sprayed", f"{given}: by the record"
    yield "treated", _strip_words(page.found.treated, page.side_cm)
    yield "untreated", _strip_words(page.found.untreated, page.side_cm)
    yield "found", found_words(page)
    yield "expected", _expected_words(page)
    if page.at_stage is not None:
        stage = words_of_stage(page)
        yield "at stage", f"sprayed at {stage}: {_band(page.at_stage)}"
    yield "so", str(page.judged)


def _strip_words(strip: Strip, side_cm: float) -> str:
    text = (
        f"{strip.plants_m2:,.1f} plants/m² in "
        f"{words.count(len(strip.counts), 'square')} of {side_cm:g} cm"
    )
    return f"{text}: few; count {FEW} or more" if strip.few else text


def found_words(page: ResultPage) -> str:
    """How many fewer, never a bare hundred per cent."""
    found = page.found
    low, middle, high = found.reduced
    if not any(found.untreated.counts):
        return "unknown: nothing grew in the untreated strip either"
    if not found.known:
        return f"{_fewer(middle)}; how sure cannot be told: count more squares"
    if found.none_treated:
        return f"none where it was sprayed: {_at_least(low)} (95 % limit), not all"
    return f"{_fewer(middle)}; 95 % limits {_fewer(low)} to {_fewer(high)}"


def _at_least(low: float) -> str:
    if low > 0:
        return f"at least {_share(low)} fewer seedlings"
    return "too few grew untreated to say that it did anything"


def _fewer(share: float) -> str:
    if share < 0:
        return f"{-share * 100:,.0f} % more"
    return f"{_share(share)} fewer"


def _share(share: float) -> str:
    """``95 %``; what is not all is never said to be a hundred."""
    hundredths = math.floor(share * 100 + 0.5)
    return "over 99 %" if hundredths == 100 and share < 1 else f"{hundredths} %"  # noqa: PLR2004 - per cent


def _band(wanted: Expected) -> str:
    return (
        f"{wanted.low * 100:.0f} to {wanted.high * 100:.0f} % of the untreated, likely "
        f"{wanted.value * 100:.0f} %"
    )


def _expected_words(page: ResultPage) -> str:
    if page.wanted is None:
        why = (
            "name what was sprayed with --active"
            if page.active is None
            else "no published control of this weed by stage of head"
        )
        return f"unknown: {why}, or give yours with --control 80-95"
    return f"{_band(page.wanted)}, at the best time"


def words_of_stage(page: ResultPage) -> str:
    """``not out`` for ``not_out``."""
    return (page.stage or "").replace("_", " ")


def _cause(page: ResultPage, each: Likely) -> str:
    return f"{each.cause} ({each.evidence}): {_reason(page, each)}"


def _reason(page: ResultPage, each: Likely) -> str:
    if each.cause is Cause.STAGE:
        return _stage_reason(page, each.evidence)
    if each.cause is Cause.UNEVEN:
        return "heads behind or ahead of the rest were missed"
    if each.cause is Cause.RAIN:
        return "rain too soon after the spray washes it off"
    if each.cause is Cause.OLD_SEED:
        return _old_seed_reason(page)
    text = "test before use of the same active again; counts do not show it"
    if page.run >= TEST_AT:
        text += f". {page.run} springs running with {page.active}, as typed or recorded"
    return text


def _stage_reason(page: ResultPage, evidence: Evidence) -> str:
    if evidence is Evidence.TOLD:
        return f"trials found clearly less at {words_of_stage(page)}"
    if evidence is Evidence.AGAINST:
        return f"trials found as much at {words_of_stage(page)}"
    if page.stage is None:
        return "too early or too late; type it with --stage"
    return "trials do not settle how much that stage costs"


def _old_seed_reason(page: ResultPage) -> str:
    if page.wanted is None:
        return ""
    needed = carry_over_needed(page.found, page.wanted)
    carry = page.wanted.carry_over
    told = f"{carry.low * 100:.0f} to {carry.high * 100:.0f} % is on record"
    if not needed <= 1.0:
        return f"no share of older seed explains it; {told}"
    return (
        f"{needed * 100:.0f} % of the seedlings would have to be of older seed; {told}"
    )


def _behind(page: ResultPage) -> str:
    text = "Limits: profile likelihood of a negative binomial"
    if page.wanted is not None:
        control, carry = page.wanted.control, page.wanted.carry_over
        text += f". Control: {control.mark}. Older seed: {carry.mark}"
    if page.judged is Found.UNSETTLED:
        text += ". The limits are too wide to settle it: count more squares"
    return f"{text}. See docs/method/result.md."
