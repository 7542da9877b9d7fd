"""What each status means, and when a service is left to rest."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.errors import RefusedError, TemporaryError, UnusableError
from forecaster.sources.conduct import Conduct

if TYPE_CHECKING:
    import socket

    from forecaster.sources.request import Request
    from tests.adapters.http.conftest import Failing, Getter
    from tests.adapters.http.stub import Stub

BODY = b'{"hourly":{"time":["2026-09-14T20:00"],"rain":[0.2]}}' * 20
HTML = (
    b"<html><head><title>400 Bad Request</title><style>p {x:y}</style></head>"
    b"<body><p>Unknown\x1b[31m field&nbsp;rain</p></body></html>"
)


def test_503_then_good(stub: Stub, get: Getter) -> None:
    """A short trouble is ridden out."""
    stub.say(503, b'{"error":true}')
    stub.say(200, BODY)
    assert get().body == BODY
    assert stub.count == 2


@pytest.mark.parametrize("status", [500, 502, 503, 504])
def test_troubles_are_tried_three_times(
    stub: Stub, failing: Failing, status: int
) -> None:
    """Two tries after the first, then it is temporary."""
    stub.say(status, b'{"error":true,"reason":"Something went wrong."}')
    error, _ = failing()
    assert type(error) is TemporaryError
    assert f"status {status}: Something went wrong." in str(error)
    assert stub.count == 3


def test_the_usual_waits_grow_and_are_never_alike(
    stub: Stub, failing: Failing, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a second, then one, each half to one and a half of it; common practice."""
    waits: list[float] = []
    monkeypatch.setattr("forecaster.sources.asking.time.sleep", waits.append)
    stub.say(503)
    failing(conduct=Conduct())
    failing(conduct=Conduct())
    first, second, first_again, _ = waits
    assert 0.25 <= first <= 0.75
    assert 0.5 <= second <= 1.5
    assert first_again != first


@pytest.mark.parametrize("status", [501, 505, 520, 408, 425])
def test_other_troubles_are_not_tried_again(
    stub: Stub, failing: Failing, status: int
) -> None:
    """Temporary, but asking at once is no use."""
    stub.say(status)
    error, _ = failing()
    assert type(error) is TemporaryError
    assert stub.count == 1


@pytest.mark.parametrize(
    "status", [400, 401, 402, 403, 404, 405, 406, 409, 410, 413, 418, 422, 451, 499]
)
def test_refusals_are_ours_to_mend(stub: Stub, failing: Failing, status: int) -> None:
    """4xx but 408, 425, 429: one request, the service's own reason."""
    reason = "Data corrupted at path ''. Cannot initialize from temperature_3m."
    stub.say(status, b'{"error":true,"reason":"' + reason.encode() + b'"}')
    error, _ = failing()
    assert type(error) is RefusedError
    assert str(error) == (
        f"stub (127.0.0.1:{stub.port}): "
        f"it refused the request (status {status}: {reason})"
    )
    assert stub.count == 1


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (HTML, "400 Bad Request Unknown [31m field&nbsp;rain"),
        (
            b'{"message":["a"],"detail":"no \\u0000such\\u202e \\nplace"}',
            "no such place",
        ),
        (b'{"code":7}', '{"code":7}'),
        (b"[" * 60_000, "[" * 199 + "…"),
        (b"\xff\xfe", "\ufffd\ufffd"),
        (b"x" * 300, "x" * 199 + "…"),
    ],
)
def test_the_reason_is_cleaned(
    stub: Stub, failing: Failing, body: bytes, reason: str
) -> None:
    """HTML, control and direction characters, deep nesting and length do no harm."""
    stub.say(400, body)
    error, _ = failing()
    assert type(error) is RefusedError
    assert str(error).endswith(f"(status 400: {reason})")


def test_a_refusal_stands_without_its_text(stub: Stub, failing: Failing) -> None:
    """A 403 whose text drips, is too large, cut off or badly packed is still a 403."""
    stub.drip(b"HTTP/1.1 403 No\r\n\r\n", b"1", 0.05)
    stub.say(403, b"x" * 70_000)
    stub.say(403, b"cut", Content_Length="10")
    stub.packed(b"junk")
    for _ in range(3):
        error, _ = failing()
        assert type(error) is RefusedError
        assert str(error).endswith("(status 403)")


def test_403_without_contact(
    stub: Stub, get: Getter, failing: Failing, quick: Conduct
) -> None:
    """A service that wants to know who asks refuses one who does not say."""

    def act(connection: socket.socket) -> None:
        known = "(+" in stub.heads[-1]
        connection.sendall(
            stub.text(200, BODY) if known else stub.text(403, b"Identify yourself")
        )

    stub.play(act)
    error, _ = failing(conduct=replace(quick, contact=""))
    assert type(error) is RefusedError
    assert "Identify yourself" in str(error)
    assert get().body == BODY


@pytest.mark.parametrize("status", [200, 203])
def test_an_empty_answer_is_no_weather(
    stub: Stub, failing: Failing, status: int
) -> None:
    """Nothing at all, as when a line breaks in the head."""
    stub.say(status)
    error, _ = failing()
    assert type(error) is UnusableError
    assert "empty" in str(error)


@pytest.mark.parametrize("status", [101, 103, 201, 202, 204, 205, 206, 300, 305])
def test_other_answers_are_no_weather(
    stub: Stub, failing: Failing, status: int
) -> None:
    """Neither good nor an error: not used, not kept."""
    stub.say(status)
    error, _ = failing()
    assert type(error) is UnusableError
    assert f"status {status}" in str(error)


def test_a_key_that_cannot_be_sent(
    stub: Stub, failing: Failing, asked: Request
) -> None:
    """Line breaks and letters beyond Latin-1 in a header: nothing is sent."""
    stub.say(200, BODY)
    for value in ("mark-secret\r\nX: 1", "mark-secret-\u2713"):
        request = replace(asked, headers={"X-Key": value})
        error, _ = failing(request=request)
        assert type(error) is RefusedError
        assert "cannot be sent" in str(error)
    assert stub.count == 0


def test_three_failures_make_a_rest(
    stub: Stub, failing: Failing, now: Any, asked: Request
) -> None:
    """After three in a row nothing is asked for ten minutes, then once more."""
    stub.say(200, BODY, Content_Length="99999")
    for _ in range(3):
        failing()
    error, _ = failing()
    assert type(error) is TemporaryError
    assert "failed 3 times in a row" in str(error)
    assert "2026-09-14 20:40 UTC" in str(error)
    failing(now=now + 599)
    other = replace(asked, url=asked.url + "&more=1")
    failing(request=other)
    assert stub.count == 3
    failing(now=now + 600)
    assert stub.count == 4
    error, _ = failing(now=now + 1199)
    assert "failed 4 times" in str(error)
    assert stub.count == 4


def test_a_good_answer_ends_the_count(
    stub: Stub, get: Getter, failing: Failing, now: Any
) -> None:
    """Two failures, one good answer, two failures: no rest."""
    for _ in range(2):
        stub.say(501)
    stub.say(200, BODY)
    stub.say(501)
    for _ in range(2):
        failing()
    get()
    for _ in range(2):
        failing(now=now + 3600)
    assert stub.count == 5
    failing(now=now + 3600)
    assert stub.count == 6
