"""Reads a page of HTML as a browser would, and says what every page must be."""

from __future__ import annotations

import itertools
import re
from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "link", "img", "input", "col"}


class Page(HTMLParser):
    """Reads a page; every element has to be closed in its turn."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element begins."""
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element without content."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """An element ends: the one that began last."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Text."""
        self.text.append(data)

    @property
    def words(self) -> str:
        """All of the text."""
        return " ".join(" ".join(self.text).split())


def stands_alone(page: str) -> None:
    """No script, no outside resource: it opens from a disk, for ever the same."""
    read = Page(page)
    assert read.open == []
    tags = {tag for tag, _ in read.tags}
    assert not tags & {"script", "iframe", "object", "embed", "link", "img"}
    for _, attributes in read.tags:
        assert "src" not in attributes
        assert not [name for name in attributes if name.startswith("on")]
        assert (attributes.get("href") or "#").startswith("#")
    assert "url(" not in re.sub(r"url\(#[a-z]+\)", "", page)  # its own hatching
    assert "@import" not in page


def can_be_read_aloud(page: str) -> None:
    """WCAG 2.2: 1.1.1, 1.3.1, 2.4.2, 3.1.1: texts for drawings, headers, a language."""
    read = Page(page)
    tags = [tag for tag, _ in read.tags]
    attributes = dict(read.tags)
    assert str(attributes["html"]["lang"]).startswith("en")
    assert "title" in tags
    assert "caption" in tags
    assert all("scope" in each for tag, each in read.tags if tag == "th")
    levels = [int(tag[1]) for tag in tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    names = [
        each["id"]
        for _, each in read.tags
        if each.get("id") != "hatch" and "id" in each
    ]
    assert len(names) == len(set(names))
    inside = list(itertools.pairwise(tags))
    for at, (tag, each) in enumerate(read.tags):
        if tag == "svg":
            named = each.get("aria-labelledby") or each.get("aria-label")
            titled = inside[at][1] == "title"
            assert named or titled or each.get("aria-hidden") == "true"
