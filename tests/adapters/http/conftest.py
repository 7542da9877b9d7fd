"""The stub service, and how the tests ask it: fast, with a clock that stands still."""

from __future__ import annotations

import importlib.util
import ssl
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
import pytest

from forecaster.domain.place import Place
from forecaster.errors import SourceError
from forecaster.sources.conduct import Conduct
from forecaster.sources.http import Fetched, fetch
from forecaster.sources.request import Request

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.adapters.http.stub import Blind, Stub

HERE = Path(__file__).parent
CERTIFICATES = HERE / "certificates"
NOW = np.datetime64("2026-09-14T20:30:00")
PLACE = Place(-34.533, 138.75, 68.0, "Australia/Adelaide")


def _stub_module() -> Any:
    spec = importlib.util.spec_from_file_location("http_stub", HERE / "stub.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


_STUB = _stub_module()


class Failing(Protocol):
    """Fetches as :class:`Getter`, in vain: the error, and the seconds it took."""

    def __call__(self, **changes: Any) -> tuple[SourceError, float]: ...


class Getter(Protocol):
    """Fetches from the stub; what is named is changed."""

    def __call__(self, **changes: Any) -> Fetched: ...


@pytest.fixture
def stub() -> Iterator[Stub]:
    """A running service."""
    with _STUB.Stub() as running:
        yield running


@pytest.fixture
def blind() -> type[Blind]:
    """A service that does not listen."""
    blind: type[Blind] = _STUB.Blind
    return blind


@pytest.fixture
def secure_stub() -> Iterator[Any]:
    """Starts services with one of our own certificates."""
    running: list[Stub] = []

    def start(name: str) -> Stub:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(CERTIFICATES / f"{name}.pem")
        running.append(_STUB.Stub(context).__enter__())
        return running[-1]

    yield start
    for each in running:
        each.stop()


@pytest.fixture
def now() -> np.datetime64:
    """The moment at which all tests happen."""
    return NOW


@pytest.fixture
def quick() -> Conduct:
    """The usual manners in fast motion."""
    return Conduct(
        connect_s=1.0,
        read_s=0.4,
        try_s=0.5,
        reason_s=0.2,
        backoff_s=0.01,
        contact="https://farm.example/contact",
    )


@pytest.fixture
def asked(stub: Stub) -> Request:
    """A request to the stub, without secrets."""
    return Request(
        source="stub",
        product="hours",
        url=stub.url + "?latitude=-34.5330&longitude=138.7500",
        place=PLACE,
        made=NOW,
        fresh_for=3600,
    )


@pytest.fixture
def get(asked: Request, quick: Conduct, tmp_path: Path) -> Getter:
    """Fetch ``request`` (the usual one) into a folder of this test."""

    def run(**changes: Any) -> Fetched:
        given: dict[str, Any] = {
            "request": asked,
            "folder": tmp_path / "http",
            "now": NOW,
            "budget": 5.0,
            "conduct": quick,
        } | changes
        return fetch(given.pop("request"), **given)

    return run


@pytest.fixture
def failing(get: Getter) -> Failing:
    """Fetch, and expect one of our errors."""

    def run(**changes: Any) -> tuple[SourceError, float]:
        start = time.monotonic()
        with pytest.raises(SourceError) as caught:
            get(**changes)
        return caught.value, time.monotonic() - start

    return run
