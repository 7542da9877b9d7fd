"""The terms of each service are told, each fact with its page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from forecaster.sources import metno, openmeteo, silo
from forecaster.sources.terms import TERMS

if TYPE_CHECKING:
    from pathlib import Path

    from tests.adapters.services.conftest import Case


def test_every_request_has_its_terms_and_goes_to_the_hosts_named(
    cases: dict[str, Case],
) -> None:
    """A source that can be asked can be read about; no product lacks a base URL."""
    for case in cases.values():
        request = case.request
        terms = TERMS[request.source]
        product = request.product.removesuffix(" 2026").split(" 2026")[0]
        assert request.url.startswith(terms.base_urls[product] + "/")


@pytest.mark.parametrize("source", [openmeteo.SOURCE, metno.SOURCE, silo.SOURCE])
def test_every_fact_has_a_page_and_the_docs_tell_it(root: Path, source: str) -> None:
    """The page for users holds the attribution, the pages and the hosts."""
    page = (root / "docs" / "reference" / "weather-services.md").read_text("utf-8")
    terms = TERMS[source]
    for fact in (terms.licence, *terms.conditions):
        assert fact.text
        assert fact.page in page, fact.page
    assert terms.attribution in page
    for url in terms.base_urls.values():
        assert url.startswith("https://")
        assert url in page


def test_who_needs_a_key_or_a_contact() -> None:
    """Open-Meteo: a key for commercial use; MET Norway and SILO: a contact, always."""
    assert "commercial" in TERMS[openmeteo.SOURCE].key
    assert TERMS[openmeteo.SOURCE].contact == ""
    for source in (metno.SOURCE, silo.SOURCE):
        assert TERMS[source].key == ""
        assert TERMS[source].contact.startswith("always")
