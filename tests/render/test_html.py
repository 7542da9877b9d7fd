"""The weekly sheet as one file: whole, still, for screen readers, and any name."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hostile_names import HOSTILE
from page_reader import Page, can_be_read_aloud, stands_alone

from forecaster.render import html
from forecaster.service.daily import outlook

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook
    from forecaster.service.farm_day import FarmDay


@pytest.fixture(scope="module")
def demo(demo_day: FarmDay) -> Outlook:
    """The demo's outlook."""
    return outlook(demo_day, demo=True)


def test_the_page_is_whole_and_needs_nothing_else(demo: Outlook) -> None:
    """No script, no outside resource: it opens from a disk, for ever the same."""
    page = html.render(demo)
    assert html.render(demo) == page
    stands_alone(page)


def test_what_a_stranger_needs_is_there(demo: Outlook) -> None:
    """Farm, moment, age of the weather, every paddock, every caution, the marks."""
    words = Page(html.render(demo)).words
    for paddock in demo.paddocks:
        assert paddock.name in words
    for caution in demo.cautions:
        assert " ".join(caution.split()) in words
    for needed in (
        demo.farm, "Mon 12 Oct 2026 07:00 AEDT", "1 h old", "look first", "hold",
        "unknown", "invented",
    ):  # fmt: skip
        assert needed in words


def test_it_can_be_read_aloud(demo: Outlook) -> None:
    """WCAG 2.2: 1.1.1, 1.3.1, 2.4.2, 3.1.1: texts for drawings, headers, a language."""
    can_be_read_aloud(html.render(demo))


def test_forty_hostile_names_are_text(demo: Outlook) -> None:
    """R21: whatever a name holds, it is shown, and is nothing else."""
    few = demo.paddocks[:2]
    plain = [tag for tag, _ in Page(html.render(replace(demo, paddocks=few))).tags]
    for name in HOSTILE:
        named = tuple(replace(each, name=name, note=name) for each in few)
        page = html.render(replace(demo, farm=name, paddocks=named))
        read = Page(page)
        assert [tag for tag, _ in read.tags] == plain, name
        assert " ".join(name.split()) in read.words, name


def test_a_paddock_that_cannot_be_told_is_on_the_sheet(demo: Outlook) -> None:
    """With its reason; nothing of it is drawn as good."""
    broken = replace(
        demo.paddocks[0], fault="ValueError: planted", actives=(), stage=None
    )
    page = html.render(replace(demo, paddocks=(broken,)))
    words = Page(page).words
    assert broken.name in words
    assert "planted" in words


@pytest.mark.benchmark
def test_sixty_paddocks(demo: Outlook, measured) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001
    """Under a megabyte and a half; time as a ratio to the text page."""
    from time import perf_counter

    from forecaster.render import text

    many = tuple(
        replace(demo.paddocks[number % 8], name=f"Paddock {number}")
        for number in range(60)
    )
    big = replace(demo, paddocks=many)
    html.render(demo)
    begun = perf_counter()
    page = html.render(big)
    middle = perf_counter()
    text.render(big)
    end = perf_counter()
    ratio = (middle - begun) / (end - middle)
    measured(
        f"sheet of 60 paddocks {1000 * (middle - begun):.0f} ms, "
        f"{len(page.encode()):,} bytes, {ratio:.1f} times the text page"
    )
    assert len(page.encode()) < 1_500_000
    assert ratio < 50
