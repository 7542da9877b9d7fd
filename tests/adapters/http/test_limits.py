"""Too many requests: once told, we stay away, in every process, until the moment."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.errors import LimitedError, TemporaryError

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.sources.conduct import Conduct
    from tests.adapters.http.conftest import Getter
    from tests.adapters.http.stub import Stub

BODY = b"{}"
AT = 1_789_417_800
"""2026-09-14 20:30:00 UTC in seconds since 1970, by the calendar of GNU date."""
MIDNIGHT = 1_789_430_400
MINUTELY = "Minutely API request limit exceeded. Please try again in one minute."
HOURLY = "Hourly API request limit exceeded. Please try again in the next hour."
DAILY = "Daily API request limit exceeded. Please try again tomorrow."


def later(now: np.datetime64, seconds: int) -> np.datetime64:
    """The moment ``seconds`` after."""
    return now + np.timedelta64(seconds, "s")


@pytest.mark.parametrize(
    ("reason", "until"),
    [
        (MINUTELY, AT + 60),
        ("Too many concurrent requests", AT + 60),
        ("", AT + 60),
        (HOURLY, AT + 3600),
        (DAILY, MIDNIGHT),
        ("Monthly quota used up", MIDNIGHT),
    ],
)
def test_the_words_say_how_long(
    stub: Stub, get: Getter, now: np.datetime64, reason: str, until: int
) -> None:
    """A minute, an hour, or the next 00:00 UTC; nothing is asked until then."""
    stub.say(429, json.dumps({"error": True, "reason": reason}).encode())
    stub.say(200, BODY)
    with pytest.raises(LimitedError) as caught:
        get()
    assert caught.value.not_before == until
    assert reason in str(caught.value)
    with pytest.raises(LimitedError) as again:
        get(now=later(now, until - AT - 1))
    assert again.value.not_before == until
    assert "asked us to wait until 2026-09-1" in str(again.value)
    assert stub.count == 1
    assert get(now=later(now, until - AT)).body == BODY


@pytest.mark.parametrize(
    ("header", "wait"),
    [
        ("1", 1),
        ("86400", 86_400),
        ("Mon, 14 Sep 2026 20:45:00 GMT", 900),
        ("Monday, 14-Sep-26 20:45:00 GMT", 900),
        ("0", 0),
        ("1000000000", 86_400),
        ("9" * 18, 86_400),
        ("Fri, 31 Dec 9999 23:59:59 GMT", 86_400),
        ("-1", 3600),
        ("1e9", 3600),
        ("1.5", 3600),
        ("soon", 3600),
        ("\u0661", 3600),
        ("Thu, 01 Jan 1970 00:00:00 GMT", 3600),
        ("Mon, 99 Sep 2026 20:45:00 GMT", 3600),
        ("9" * 400, 3600),
    ],
)
def test_retry_after_is_honoured_within_reason(
    stub: Stub, get: Getter, header: str, wait: int
) -> None:
    """Seconds or a date (RFC 9110 §10.2.3), at most a day; junk leaves the words."""
    body = json.dumps({"reason": HOURLY}).encode()
    stub.raw(
        stub.text(429, body, Retry_After="@@").replace(b"@@", header.encode("utf-8"))
    )
    with pytest.raises(LimitedError) as caught:
        get()
    assert caught.value.not_before == AT + wait
    assert stub.count == 1


def test_a_date_is_compared_with_the_services_own_clock(
    stub: Stub, get: Getter
) -> None:
    """A service an hour ahead of us that wants ten minutes gets ten minutes."""
    stub.say(
        429,
        Date="Mon, 14 Sep 2026 21:30:00 GMT",
        Retry_After="Mon, 14 Sep 2026 21:40:00 GMT",
    )
    with pytest.raises(LimitedError) as caught:
        get()
    assert caught.value.not_before == AT + 600


def test_a_fresh_answer_is_still_given(stub: Stub, get: Getter, asked: object) -> None:
    """What needs no request needs no permission."""
    from dataclasses import replace

    stub.say(200, BODY)
    stub.say(429)
    get()
    other = replace(asked, url=asked.url + "&more=1")  # type: ignore[type-var,attr-defined]  # a Request
    with pytest.raises(LimitedError):
        get(request=other)
    assert get().from_cache


def test_a_short_wish_of_a_service_in_trouble_is_waited_for(
    stub: Stub, get: Getter
) -> None:
    """503 with Retry-After 1: one second later it is asked again."""
    stub.say(503, Retry_After="1")
    stub.say(200, BODY)
    assert get().body == BODY
    assert stub.count == 2


def test_a_wish_longer_than_the_budget_is_not_waited_for(
    stub: Stub, get: Getter
) -> None:
    """We never sleep past the budget: it is temporary at once."""
    stub.say(503, Retry_After="10")
    with pytest.raises(TemporaryError, match="status 503"):
        get(budget=2.0)
    assert stub.count == 1


def test_a_long_wish_becomes_a_moment(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """503 with Retry-After 16 is not waited for; nothing is asked till then."""
    stub.say(503, b'{"reason":"rebuilding"}', Retry_After="16")
    stub.say(200, BODY)
    with pytest.raises(LimitedError, match="rebuilding") as caught:
        get()
    assert caught.value.not_before == AT + 16
    with pytest.raises(LimitedError):
        get(now=later(now, 15))
    assert stub.count == 1
    assert get(now=later(now, 16)).body == BODY


def memory_file(folder: Path) -> Path:
    """The only file of what hosts asked of us."""
    (found,) = (folder / "hosts").glob("*.json")
    return found


def test_a_clock_set_back_keeps_the_length_of_the_wait(
    stub: Stub, get: Getter, now: np.datetime64, tmp_path: Path
) -> None:
    """A day back in time: an hour's wait is an hour from then, not 25."""
    stub.say(429, json.dumps({"reason": HOURLY}).encode())
    stub.say(200, BODY)
    with pytest.raises(LimitedError):
        get()
    back = later(now, -86_400)
    with pytest.raises(LimitedError) as caught:
        get(now=back)
    assert caught.value.not_before == AT - 86_400 + 3600
    assert get(now=later(back, 3600)).body == BODY
    assert json.loads(memory_file(tmp_path / "http").read_text())["not_before"] == 0


def test_a_clock_set_to_1970_does_no_harm(stub: Stub, get: Getter) -> None:
    """Moments before 1970 are cut at it."""
    stub.say(501)
    with pytest.raises(TemporaryError):
        get()
    with pytest.raises(TemporaryError, match="501"):
        get(now=np.datetime64("1970-01-01T00:00:10"))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"[" * 4000,
        b"\xff",
        b'{"schema": 2}',
        b'{"schema": 1, "other": 1}',
        b'{"schema": 1, "not_before": "soon"}',
        b'{"schema": 1, "not_before": 1e99}',
        b'{"schema": 1, "written": 1789417800, "why": 7}',
        b'{"schema": 1, "written": 1789417800, "not_before": 1800000000}',
        b'{"schema": 1, "written": 1789417800, "rest_until": -5}',
    ],
)
def test_a_damaged_memory_is_like_none(
    stub: Stub, get: Getter, tmp_path: Path, content: bytes
) -> None:
    """Half written, foreign, newer or absurd: the service is asked."""
    stub.say(501)
    stub.say(200, BODY)
    with pytest.raises(TemporaryError):
        get()
    memory_file(tmp_path / "http").write_bytes(content)
    assert get().body == BODY


def test_the_memory_of_a_disk_that_cannot_be_written(
    stub: Stub, get: Getter, tmp_path: Path, quick: Conduct
) -> None:
    """Then this process remembers, and says so; a file where a folder should be."""
    del quick
    folder = tmp_path / "taken"
    folder.write_text("")
    stub.say(429)
    with pytest.raises(LimitedError) as caught:
        get(folder=folder)
    notes = " ".join(caught.value.__notes__)
    assert "cannot be written down" in notes
    assert "HTTP cache cannot be used" in notes
    assert "going on without one" in notes
    with pytest.raises(LimitedError):
        get(folder=folder)
    assert stub.count == 1
    folder.unlink()
    stub.say(200, BODY)
    with pytest.raises(LimitedError):
        get(folder=folder)
