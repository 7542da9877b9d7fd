"""The Markdown page, read back by a CommonMark parser with tables."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from hostile_names import HOSTILE
from markdown_it import MarkdownIt
from outlooks import named, paddock, with_paddock

from forecaster.domain.planning.next_step import Step
from forecaster.render import markdown

if TYPE_CHECKING:
    from markdown_it.token import Token

    from forecaster.domain.outlook import Outlook

PLAIN = {"text", "text_special", "em_open", "em_close", "strong_open", "strong_close"}


def parser() -> MarkdownIt:
    """CommonMark, with tables, crossed-out words and raw HTML switched on."""
    return MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])


def texts(tokens: list[Token], kind: str) -> list[str]:
    """The words inside every block of a kind; it holds nothing but text."""
    found = []
    for before, token in pairwise(tokens):
        if before.type == kind:
            assert token.children is not None
            assert {each.type for each in token.children} <= PLAIN
            found.append("".join(each.content for each in token.children))
    return found


def test_the_table_holds_every_active(demo: Outlook) -> None:
    """One row each, and what fails comes first."""
    tokens = parser().parse(markdown.render(demo))
    cells = texts(tokens, "td_open")
    actives = [each for paddock in demo.paddocks for each in paddock.actives]
    assert len(cells) == 7 * len(actives)
    assert cells[0] == "Back Road"
    failed = parser().parse(
        markdown.render(with_paddock(demo, fault="<b>", actives=()))
    )
    assert texts(failed, "td_open")[3:] == ["unknown", "", "", "<b>"]
    assert "**DEMO FARM: farm, labels and weather are invented.**" in markdown.render(
        demo
    )


def test_forty_hostile_names_come_back_equal(demo: Outlook) -> None:
    """In headings and cells; a parser trims what stands around a cell's words."""
    made = named(demo, HOSTILE)
    tokens = parser().parse(markdown.render(made))
    kinds = {token.type for token in tokens}
    assert not kinds & {"html_block", "fence", "code_block", "hr", "blockquote_open"}
    assert texts(tokens, "td_open")[::7][::2] == [each.strip() for each in HOSTILE]
    headings = texts(tokens, "heading_open")
    assert headings[0].startswith(f"{made.farm}: spray outlook")
    assert [each.rpartition(", ")[0] for each in headings[1:-1]] == [
        each.strip() for each in HOSTILE
    ]
    assert headings[-1] == "Read this too"


def test_a_line_break_cannot_leave_its_cell() -> None:
    """Nor can what GitHub would make a link of."""
    assert markdown.escape("a\nb\r\nc") == "a b c"
    assert markdown.escape("http://x") == "http\\://x"


def test_warnings_are_printed_as_text(demo: Outlook) -> None:
    """Those of the weather and of a weed; what cannot control has no line."""
    weather = replace(demo.weather, warnings=("_old_ <b>",), invented=False)
    first = replace(paddock(demo).actives[0], step=Step.DOES_NOT_CONTROL)
    bare = with_paddock(demo, warning="*deadly*", actives=(first,))
    page = markdown.render(replace(bare, weather=weather, demo=False))
    assert r"- \_old\_ \<b\>" in page
    assert r"- **Warning**: \*deadly\*" in page
    assert "glyphosate" not in page.partition("## Read this too")[0]
