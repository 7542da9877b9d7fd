"""``forecaster sources``: the open weather services and their terms."""

from __future__ import annotations

import textwrap

import typer


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("sources")(sources)


def sources() -> None:
    """Print which weather services can be asked, on which terms, and their pages.

    Example:  forecaster sources
    """
    from forecaster.cli import options
    from forecaster.sources.terms import TERMS, Terms

    def page(terms: Terms) -> list[str]:
        needs = [
            ("key", terms.key),
            ("contact", terms.contact),
            ("when", terms.asked),
        ]
        facts = [terms.licence, *terms.conditions]
        lines = [
            ("gives", terms.gives),
            ("print", terms.attribution),
            *((name, need) for name, need in needs if need),
            ("licence", f"{facts[0].text} [{facts[0].mark}: {facts[0].page}]"),
            *(
                ("term", f"{fact.text} [{fact.mark}: {fact.page}]")
                for fact in facts[1:]
            ),
            *(("asks", f"{url} ({name})") for name, url in terms.base_urls.items()),
        ]
        found = [terms.name]
        for name, text in lines:
            found += textwrap.wrap(
                text,
                80,
                initial_indent=f"  {name:9}",
                subsequent_indent=" " * 11,
                break_long_words=False,
                break_on_hyphens=False,
            )
        return [*found, ""]

    head = (
        "Weather services this program can ask. You agree with them, not with us: read "
        'the pages named. Nothing is asked before a farm file says kind = "open".'
    )
    body = [line for terms in TERMS.values() for line in page(terms)]
    options.deliver("\n".join([*textwrap.wrap(head, 80), "", *body]), None)
