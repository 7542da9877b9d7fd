"""Springs running with one active, and the list for next spring."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.domain.result.spring_clock import TEST_AT, Advice
from forecaster.render import head_words, words

if TYPE_CHECKING:
    from forecaster.domain.result.result_page import ClockPage
    from forecaster.domain.result.spring_clock import Candidate, Ticks

CAUTION = (
    f"{TEST_AT} springs running is assumed. Nothing here says that a weed is "
    "resistant; a test of seed or plants does. Labels and local advice come first."
)


def render(page: ClockPage) -> str:
    """The whole page."""
    found = head_words.demo_lines(demo=page.demo)
    found += [f"{page.farm}: springs running with one active, to {page.latest}", ""]
    found += [line for each in page.ticks for line in words.bullet(_tick(each))]
    if page.untyped:
        names = ", ".join(page.untyped)
        found += words.bullet(
            f"no past spray typed ([[paddock.past]]) or recorded: {names}"
        )
    found += ["", "To look at first next spring (share typed x seedlings found):"]
    found += [line for each in page.candidates for line in words.bullet(_line(each))]
    found += ["", *words.bullet(CAUTION)]
    found += [line for each in page.warnings for line in words.bullet(each)]
    return "\n".join(found) + "\n"


def _tick(each: Ticks) -> str:
    years = ", ".join(map(str, each.years))
    if each.recorded:
        years += f"; recorded {', '.join(map(str, each.recorded))}"
    running = words.count(each.run, "spring")
    text = f"{each.paddock}, {each.active}: {running} running ({years})"
    return text if each.advice is Advice.NONE else f"{text}: {each.advice}"


def _line(each: Candidate) -> str:
    what = f"{each.paddock}, {each.weed.replace('_', ' ')}: {each.share:g} %"
    if each.plants_m2 is None:
        return f"{what}, seedlings not counted"
    return (
        f"{what} x {each.plants_m2:,.1f} plants/m² after spring {each.year} = "
        f"{each.rank:,.0f}"
    )


def tree(page: ClockPage) -> dict[str, Any]:
    """The page as plain dicts and lists; units stand in the names."""
    return {
        "farm": page.farm,
        "demo": page.demo,
        "latest_spring": page.latest,
        "springs": [
            {
                "paddock": each.paddock,
                "active": each.active,
                "years": list(each.years),
                "recorded_years": list(each.recorded),
                "running": each.run,
                "advice": each.advice.value,
            }
            for each in page.ticks
        ],
        "no_past_typed": list(page.untyped),
        "candidates": [
            {
                "paddock": each.paddock,
                "weed": each.weed,
                "share_pct": each.share,
                "seedlings_per_m2": each.plants_m2,
                "spray_year": each.year,
                "rank": each.rank,
            }
            for each in page.candidates
        ],
        "warnings": list(page.warnings),
    }
