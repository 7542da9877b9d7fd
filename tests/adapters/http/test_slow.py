"""A service or a line that is slow, silent or gone."""

from __future__ import annotations

import socket
import threading
import time
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.errors import TemporaryError
from forecaster.sources.line import THREAD

if TYPE_CHECKING:
    from forecaster.sources.request import Request
    from tests.adapters.http.conftest import Failing, Getter
    from tests.adapters.http.stub import Blind, Stub

BODY = b'{"hourly":{"time":["2026-09-14T20:00"],"rain":[0.2]}}' * 20
TLS_RECORD = b"\x16\x03\x03\x40\x00"
"""The head of a TLS handshake record of 16 kB (RFC 8446 §5.1)."""


@pytest.mark.parametrize(
    ("head", "piece", "every"),
    [
        (b"HTTP/1.1 200 OK\r\n\r\n", b"1", 0.05),
        (b"HTTP/1.1 200 OK\r\nContent-Length: 9999\r\n\r\n", b"1", 0.05),
        (b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n", b"0", 0.05),
        (b"HTTP/1.1 200 OK\r\nX-Slow: ", b"a", 0.05),
        (b"HTTP/1.1 100 Continue\r\n\r\n", b"HTTP/1.1 100 Continue\r\n\r\n", 0.05),
        (b"", b"H", 0.05),
        (b"", b"", 0.05),
    ],
)
def test_a_slow_service_cannot_keep_us(
    stub: Stub, failing: Failing, head: bytes, piece: bytes, every: float
) -> None:
    """Drips in body, chunk size, head and status end by the total time of a try."""
    stub.drip(head, piece, every)
    error, took = failing()
    assert type(error) is TemporaryError
    assert "in time" in str(error)
    assert took < 0.5 + 0.7
    assert stub.count == 1


def test_a_silent_service_is_left_after_the_read_time(
    stub: Stub, failing: Failing
) -> None:
    """No byte at all: the time for one read, which is shorter, ends it."""
    stub.wait(3.0, b"")
    error, took = failing()
    assert type(error) is TemporaryError
    assert 0.4 <= took < 0.8


def test_the_budget_ends_before_the_time_of_a_try(stub: Stub, failing: Failing) -> None:
    """What is left of the whole refresh counts, if it is less."""
    stub.drip(b"HTTP/1.1 200 OK\r\n\r\n", b"1", 0.02)
    error, took = failing(budget=0.2)
    assert type(error) is TemporaryError
    assert took < 0.2 + 0.5


def test_a_spent_budget_asks_nothing(stub: Stub, get: Getter) -> None:
    """Without time no connection is made, and the service is not blamed."""
    for _ in range(4):
        with pytest.raises(TemporaryError, match="no time was left"):
            get(budget=0.0)
    stub.say(200, BODY)
    assert get().body == BODY
    assert stub.count == 1


def test_a_slow_tls_handshake_ends_too(
    blind: type[Blind], failing: Failing, asked: Request
) -> None:
    """A record announced and dripped: the deadline holds below TLS."""
    with blind(TLS_RECORD, 0.05) as server:
        url = f"https://127.0.0.1:{server.port}/"
        error, took = failing(request=replace(asked, url=url))
    assert type(error) is TemporaryError
    assert took < 0.5 + 0.7


def test_a_name_that_does_not_exist(failing: Failing, asked: Request) -> None:
    """RFC 2606 keeps .invalid free: the look-up fails, and is tried three times."""
    request = replace(asked, url="https://weather.invalid/v1")
    error, _ = failing(request=request)
    assert type(error) is TemporaryError
    assert "looked up" in str(error) or "in time" in str(error)


def test_a_refused_connection(stub: Stub, failing: Failing) -> None:
    """The service is gone."""
    stub.stop()
    error, _ = failing()
    assert type(error) is TemporaryError
    assert "connection failed" in str(error)


def test_a_connection_closed_without_a_word(stub: Stub, get: Getter) -> None:
    """Hung up: tried again, and then it works."""
    stub.raw(b"")
    stub.raw(b"")
    stub.say(200, BODY)
    assert get().body == BODY
    assert stub.count == 3


def test_a_connection_that_comes_too_late_is_closed(
    stub: Stub, failing: Failing, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A look-up or connection that outlasts the deadline is dropped when it comes."""
    made: list[socket.socket] = []
    true = socket.create_connection

    def slow(*arguments: Any) -> socket.socket:
        time.sleep(0.4)
        made.append(true(*arguments))
        return made[0]

    monkeypatch.setattr(socket, "create_connection", slow)
    error, took = failing(budget=0.1)
    assert "in time" in str(error)
    assert took < 0.4
    deadline = time.monotonic() + 3.0
    while not (made and made[0].fileno() == -1) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert made[0].fileno() == -1
    assert stub.count == 0


def test_nothing_goes_on_behind(stub: Stub, failing: Failing) -> None:
    """When the time is over the connection is cut, and the thread on it ends."""
    stub.drip(b"HTTP/1.1 200 OK\r\nX-Slow: ", b"a", 0.02)
    failing(budget=0.2)
    end = time.monotonic() + 1.0
    while THREAD in running() and time.monotonic() < end:
        time.sleep(0.01)
    assert THREAD not in running()


def running() -> set[str]:
    """Names of the threads that live."""
    return {thread.name for thread in threading.enumerate()}
