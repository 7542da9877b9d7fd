"""Marker secrets, under every fault, are in no file, message, log or output."""

from __future__ import annotations

import logging
import traceback
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol
from urllib.parse import quote, quote_plus

import numpy as np
import pytest

from forecaster.errors import SourceError, UnusableError
from forecaster.sources.lastgood import LastGood
from forecaster.sources.redact import Redactor
from forecaster.sources.refresh import Refreshed, refresh
from forecaster.sources.request import Parsed, Request

if TYPE_CHECKING:
    import socket
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from forecaster.sources.conduct import Conduct
    from tests.adapters.http.stub import Stub

MARKS = {
    "apikey": "MARK-query-1/+ &%",
    "key": "MARK-query-2",
    "username": "mark-3@farm.example",
    "api_key": 'MARK-"quoted"-4',
}
HEADER_MARKS = {"X-Api-Key": "MARK-header-5", "Authorization": "Bearer MARK-token-6"}
NEEDLES = ("MARK-query", "mark-3", 'MARK-"quoted', "MARK-header", "MARK-token")


@pytest.fixture
def secret_request(asked: Request) -> Request:
    """The usual request with keys in query and headers."""
    return replace(asked, secrets=MARKS, headers=HEADER_MARKS)


def accept(body: bytes, _: Request) -> Parsed:
    """Anything that looks like our weather."""
    if b"rain" not in body:
        raise UnusableError("no rain")
    return Parsed(warnings=(body.decode("latin-1"),))


def echoing(
    stub: Stub, status: int, kept: str = "", **headers: str
) -> Callable[[socket.socket], None]:
    """An answer that repeats the whole question, as careless services do."""

    def act(connection: socket.socket) -> None:
        head = stub.heads[-1]
        body = (
            kept + head + " ".join([*MARKS.values(), *HEADER_MARKS.values()])
        ).encode()
        target = head.split()[1]
        connection.sendall(stub.text(status, body, X_Echo=target, **headers))

    return act


def elsewhere(stub: Stub) -> Callable[[socket.socket], None]:
    """A redirect to another host that carries the query along."""

    def act(connection: socket.socket) -> None:
        query = stub.heads[-1].split()[1].partition("?")[2]
        where = f"https://mark-query-2.example/?{query}"
        connection.sendall(stub.text(302, Location=where))

    return act


def cut_short(stub: Stub) -> Callable[[socket.socket], None]:
    """An echo that is cut off."""
    return echoing(stub, 200, Content_Length="99999")


FAULTS: dict[str, Callable[[Stub], Callable[[socket.socket], None]]] = {
    "good": lambda stub: echoing(stub, 200, "rain", ETag="MARK-query-2"),
    "no weather": lambda stub: echoing(stub, 200),
    "deprecated": lambda stub: echoing(stub, 203, "rain", Sunset="MARK-query-2"),
    "bad request": lambda stub: echoing(stub, 400),
    "no key": lambda stub: echoing(stub, 401),
    "forbidden": lambda stub: echoing(stub, 403),
    "too many": lambda stub: echoing(stub, 429),
    "trouble": lambda stub: echoing(stub, 500),
    "rebuilding": lambda stub: echoing(stub, 503, Retry_After="99"),
    "elsewhere": elsewhere,
    "cut": cut_short,
    "packing": lambda stub: echoing(stub, 200, Content_Encoding="MARK-query-2"),
    "no http": lambda stub: lambda line: line.sendall(stub.heads[-1].encode()),
    "hang up": lambda _: lambda line: line.sendall(b""),
}


def chain(error: BaseException | None) -> Iterator[BaseException]:
    """An error, and all that hang on it, said or suppressed."""
    if error is not None:
        yield error
        yield from chain(error.__cause__)
        yield from chain(error.__context__)


def told_by(work: Callable[[], Any]) -> str:
    """All the words that come of it: results, errors, notes, traces."""
    try:
        result = work()
    except SourceError as error:
        words = [repr(each) + str(each) for each in chain(error)]
        words += getattr(error, "__notes__", [])
        return " ".join([*words, "".join(traceback.format_exception(error))])
    return repr(result) + " ".join(result.warnings)


class Run(Protocol):
    """Refreshes some hours after the usual moment."""

    def __call__(self, request: Request, hours: int = 0) -> Refreshed: ...


@pytest.fixture
def run(quick: Conduct, now: np.datetime64, tmp_path: Path) -> Run:
    """Refresh into the folder of this test."""

    def call(request: Request, hours: int = 0) -> Refreshed:
        return refresh(
            request,
            accept,
            folder=tmp_path / "http",
            store=LastGood(tmp_path / "kept"),
            now=now + np.timedelta64(hours, "h"),
            budget=5.0,
            conduct=quick,
        )

    return call


@pytest.fixture
def outside(
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
    capfd: pytest.CaptureFixture[str],
) -> Callable[[], dict[str, bytes]]:
    """All files, the log at its most talkative, and what was printed."""
    caplog.set_level(logging.DEBUG)

    def look() -> dict[str, bytes]:
        files = [path for path in tmp_path.rglob("*") if path.is_file()]
        out = capfd.readouterr()
        return {path.name: path.read_bytes() for path in files} | {
            "log": caplog.text.encode(),
            "output": (out.out + out.err).encode(),
        }

    return look


@pytest.mark.parametrize("fault", FAULTS)
def test_no_secret_leaves(
    stub: Stub,
    secret_request: Request,
    run: Run,
    outside: Callable[[], dict[str, bytes]],
    fault: str,
) -> None:
    """They reach the service, and nothing else: not when it echoes them either."""
    stub.play(FAULTS[fault](stub))
    words = told_by(lambda: run(secret_request))
    words += told_by(lambda: run(secret_request, 2))
    sent = stub.heads[0]
    assert f"apikey={quote(MARKS['apikey'], safe='')}" in sent
    assert "X-Api-Key: MARK-header-5\r\n" in sent
    places = outside() | {"messages": words.encode()}
    assert len(places) > 3
    needles = [spelling for each in NEEDLES for spelling in (each, quote_plus(each))]
    found = {
        (place, needle)
        for place, content in places.items()
        for needle in needles
        if needle.lower().encode() in content.lower()
    }
    assert found == set()


def test_a_gone_service_names_no_secret(
    stub: Stub, secret_request: Request, run: Run
) -> None:
    """Errors of the network layer hold the address; ours do not."""
    stub.stop()
    words = told_by(lambda: run(secret_request))
    assert "connection failed" in words
    assert not [needle for needle in NEEDLES if needle.lower() in words.lower()]


def test_a_request_does_not_show_its_secrets(secret_request: Request) -> None:
    """Nor does its text in a trace."""
    assert "MARK" not in repr(secret_request)


def test_a_new_key_finds_the_old_answer(
    stub: Stub, secret_request: Request, run: Run
) -> None:
    """The key is not part of an answer's name."""
    stub.say(200, b"rain")
    assert run(secret_request).fresh
    assert run(replace(secret_request, secrets={"key": "another"})).fresh
    assert stub.count == 1


def test_a_secret_that_is_no_text_is_looked_for_all_the_same(asked: Request) -> None:
    """A key with a lone surrogate, as a damaged environment gives: no traceback."""
    key = "MARK-\udc80-a-long-secret"
    hidden = Redactor.of(replace(asked, secrets={"apikey": key}))
    assert hidden.body(b"nothing of it here") == b"nothing of it here"
