"""Every product of every weather service keeps the same promises."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.errors import SourceError
from forecaster.sources import (
    metno,
    openmeteo_archive,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_previous,
    openmeteo_profile,
    openmeteo_status,
    silo,
)
from forecaster.sources.openmeteo import Access

if TYPE_CHECKING:
    from forecaster.ports import WeatherProduct
    from forecaster.sources.request import Request

PLACE = Place(-37.595, 142.305, 420.0, "Australia/Melbourne")
NOW = np.datetime64("2026-10-11T20:00", "s")
CONTACT = "ask@thornbill-rise.farm"
MARKER = "a-key-nobody-may-see"
KEYED = Access(key=MARKER, contact=CONTACT)

PRODUCTS: dict[str, tuple[WeatherProduct, dict[str, object]]] = {
    "forecast": (openmeteo_forecast, {"access": KEYED}),
    "profile": (openmeteo_profile, {"access": KEYED}),
    "ensemble": (openmeteo_ensemble, {"access": KEYED}),
    "archive": (openmeteo_archive, {"access": KEYED, "year": 2025}),
    "previous": (openmeteo_previous, {"access": KEYED}),
    "status": (openmeteo_status, {"access": KEYED}),
    "metno": (metno, {"contact": CONTACT}),
    "silo": (
        silo,
        {
            "contact": CONTACT,
            "first_day": np.datetime64("2026-01-01"),
            "last_day": np.datetime64("2026-10-01"),
        },
    ),
}


@pytest.fixture(params=sorted(PRODUCTS))
def product(request: pytest.FixtureRequest) -> tuple[WeatherProduct, Request]:
    """A product and a request for it."""
    module, options = PRODUCTS[request.param]
    made: Request = module.request(PLACE, NOW, **options)
    return module, made


def test_requests_are_canonical_and_hold_no_secret(
    product: tuple[WeatherProduct, Request],
) -> None:
    """HTTPS, the same URL twice, no key or mail address in it or in its print."""
    module, made = product
    assert made.url.startswith("https://")
    assert MARKER not in made.url
    assert CONTACT not in made.url
    assert MARKER not in repr(made)
    assert (made.place, made.made) == (PLACE, NOW)
    assert made.fresh_for > 0
    del module


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"null",
        b"[]",
        b"{}",
        b"<html>please log in</html>",
        b"\xff\xfe",
        b"[" * 9999,
    ],
)
def test_rubbish_is_refused_in_words(
    product: tuple[WeatherProduct, Request], body: bytes
) -> None:
    """Never a traceback of another kind, never an empty answer."""
    module, made = product
    with pytest.raises(SourceError) as refused:
        module.parse(body, made)
    assert str(refused.value)
    assert MARKER not in str(refused.value)
