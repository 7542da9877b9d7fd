"""A fresh answer is not asked for twice; a stale one is asked for with conditions."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.errors import TemporaryError, UnusableError
from forecaster.sources.http import forget

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.sources.request import Request
    from tests.adapters.http.conftest import Getter
    from tests.adapters.http.stub import Stub

BODY = b'{"hourly":{"time":["2026-09-14T20:00"]}}'
DATE = "Mon, 14 Sep 2026 20:30:00 GMT"
IN_HALF_AN_HOUR = "Mon, 14 Sep 2026 21:00:00 GMT"
WRITTEN = "Mon, 14 Sep 2026 19:48:12 GMT"
MINUTE = np.timedelta64(60, "s")


def test_a_fresh_answer_makes_no_second_request(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """Within fresh_for the body comes from the file, with the age of the first call."""
    stub.say(200, BODY)
    first = get()
    again = get(now=now + 59 * MINUTE)
    assert (first.body, first.from_cache, first.retrieved_at) == (BODY, False, now)
    assert (again.body, again.from_cache, again.retrieved_at) == (BODY, True, now)
    assert (first.notes, again.notes, stub.count) == ((), (), 1)


def test_after_fresh_for_the_service_is_asked_again(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """One second after the hour a new answer replaces the old one."""
    stub.say(200, BODY)
    stub.say(200, b"{}")
    get()
    later = get(now=now + 60 * MINUTE)
    assert (later.body, later.from_cache, stub.count) == (b"{}", False, 2)
    assert later.retrieved_at == now + 60 * MINUTE


def test_nothing_is_kept_without_time_to_live(
    stub: Stub, get: Getter, asked: Request
) -> None:
    """fresh_for of 0 asks each time."""
    stub.say(200, BODY)
    get(request=replace(asked, fresh_for=0))
    get(request=replace(asked, fresh_for=0))
    assert stub.count == 2


@pytest.mark.parametrize(
    ("headers", "seconds"),
    [
        ({"Expires": IN_HALF_AN_HOUR, "Date": DATE}, 1800),
        ({"Expires": IN_HALF_AN_HOUR}, 1800),
        ({"Cache_Control": "public, max-age=600", "Expires": IN_HALF_AN_HOUR}, 600),
        ({"Cache_Control": "max-age=600, must-revalidate"}, 600),
        ({"Cache_Control": "max-age=junk"}, 3600),
        ({"Cache_Control": "immutable"}, 3600),
        ({"Cache_Control": "max-age=99999999999999999"}, 86_400),
        ({"Cache_Control": "max-age=-1"}, 0),
        ({"Cache_Control": "no-store"}, 0),
        ({"Expires": "0"}, 0),
        ({"Expires": "Fri, 31 Dec 9999 23:59:59 GMT", "Date": DATE}, 86_400),
        ({"Vary": "*"}, 3600),
    ],
)
def test_headers_of_the_service_set_the_time_to_live(
    stub: Stub,
    get: Getter,
    now: np.datetime64,
    headers: dict[str, str],
    seconds: int,
) -> None:
    """RFC 9111 §4.2.1 and §5.2.2, with a day as the longest a header may ask for."""
    stub.say(200, BODY, **headers)
    get()
    if seconds:
        assert get(now=now + np.timedelta64(seconds - 1, "s")).from_cache
    assert not get(now=now + np.timedelta64(seconds, "s")).from_cache


def test_not_modified_with_expires(stub: Stub, get: Getter, now: np.datetime64) -> None:
    """The stored Last-Modified is sent back word for word; the new Expires counts."""
    headers = {"Date": DATE, "Expires": IN_HALF_AN_HOUR, "Last_Modified": WRITTEN}
    stub.say(200, BODY, **headers, ETag='"a1"')
    stub.raw(
        stub.text(
            304,
            Date="Mon, 14 Sep 2026 21:00:00 GMT",
            Expires="Mon, 14 Sep 2026 21:10:00 GMT",
        )
    )
    get()
    later = now + 30 * MINUTE
    held = get(now=later)
    assert f"If-Modified-Since: {WRITTEN}\r\n" in stub.heads[1]
    assert 'If-None-Match: "a1"\r\n' in stub.heads[1]
    assert (held.body, held.from_cache, held.retrieved_at) == (BODY, True, later)
    assert get(now=later + 9 * MINUTE).retrieved_at == later
    assert stub.count == 2
    get(now=later + 10 * MINUTE)
    assert stub.count == 3


def test_not_modified_without_expires(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """The answer then lives for fresh_for again."""
    stub.say(200, BODY, Last_Modified=WRITTEN)
    stub.raw(stub.text(304))
    get()
    later = now + 60 * MINUTE
    assert get(now=later).body == BODY
    assert get(now=later + 59 * MINUTE).retrieved_at == later
    assert stub.count == 2


def test_no_cache_asks_with_conditions_each_time(stub: Stub, get: Getter) -> None:
    """``no-cache`` (RFC 9111 §5.2.2.4): kept, but confirmed before each use."""
    stub.say(200, BODY, Cache_Control="no-cache", ETag='"a1"')
    stub.raw(stub.text(304))
    get()
    assert get().body == BODY
    assert 'If-None-Match: "a1"' in stub.heads[1]


def test_not_modified_unasked_is_nonsense(stub: Stub, get: Getter) -> None:
    """A 304 to a question without conditions has no body to stand on."""
    stub.raw(stub.text(304))
    with pytest.raises(UnusableError, match="status 304"):
        get()


def test_odd_validators_are_not_sent_back(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """An ETag over 1,000 characters or beyond ASCII is dropped."""
    stub.say(200, BODY, ETag='"' + "x" * 1000 + '"', Last_Modified="\xe9t\xe9")
    get()
    get(now=now + 60 * MINUTE)
    assert "If-" not in stub.heads[1]


def test_203_is_used_kept_and_said(stub: Stub, get: Getter) -> None:
    """203 has data; one service means "beta or deprecated" by it. Said each time."""
    stub.say(203, BODY)
    words = "stub marks this product as beta or deprecated (status 203)"
    assert get().notes == (words,)
    assert get().notes == (words,)
    assert stub.count == 1


def test_announced_end_is_said(stub: Stub, get: Getter) -> None:
    """Sunset (RFC 8594) and Deprecation (RFC 9745) headers reach the user."""
    stub.say(200, BODY, Sunset=DATE, Deprecation="@1788652800")
    assert get().notes == (
        "stub announces: deprecation @1788652800",
        f"stub announces: sunset {DATE}",
    )


def test_offline_uses_what_is_fresh_only(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """Offline nothing is asked: a fresh answer is given, a stale one is not."""
    with pytest.raises(TemporaryError, match="offline"):
        get(offline=True)
    stub.say(200, BODY)
    get()
    assert get(offline=True).from_cache
    with pytest.raises(TemporaryError, match="offline"):
        get(offline=True, now=now + 60 * MINUTE)
    assert stub.count == 1


def test_two_products_are_kept_apart(stub: Stub, get: Getter, asked: Request) -> None:
    """Another address is another answer."""
    stub.say(200, BODY)
    stub.say(200, b"[]")
    other = replace(asked, url=asked.url + "&hourly=rain")
    assert (get().body, get(request=other).body) == (BODY, b"[]")
    assert (get().body, get(request=other).body) == (BODY, b"[]")


def test_a_clock_set_back_is_said_and_asks_again(
    stub: Stub, get: Getter, now: np.datetime64
) -> None:
    """An answer from the future is not fresh for a day: it is asked for anew."""
    stub.say(200, BODY)
    get()
    back = get(now=now - np.timedelta64(1, "D"))
    assert not back.from_cache
    assert "clock set back" in back.notes[0]
    assert stub.count == 2


def test_a_forgotten_answer_is_asked_for_again(
    stub: Stub, get: Getter, asked: Request, tmp_path: Path
) -> None:
    """What turned out to be no weather is not served twice."""
    stub.say(200, BODY)
    get()
    assert forget(asked, folder=tmp_path / "http") == ()
    assert forget(asked, folder=tmp_path / "http") == ()
    assert not get().from_cache
    assert stub.count == 2


def test_who_asks_and_how(stub: Stub, get: Getter) -> None:
    """User-Agent with contact, gzip only, nothing of the libraries' own."""
    stub.say(200, BODY)
    get()
    head = stub.heads[0]
    assert head.startswith(
        "GET /v1/forecast?latitude=-34.5330&longitude=138.7500 HTTP/1.1\r\n"
    )
    assert "\r\nUser-Agent: forecaster/" in head
    assert " (+https://farm.example/contact)\r\n" in head
    assert "\r\nAccept-Encoding: gzip\r\n" in head
    assert "python" not in head
    assert "Cookie" not in head


def test_cookies_are_dropped(stub: Stub, get: Getter, now: np.datetime64) -> None:
    """A cookie is neither sent back nor kept."""
    stub.say(200, BODY, Set_Cookie="id=mark-cookie-1; Path=/")
    get()
    get(now=now + 60 * MINUTE)
    assert "Cookie" not in stub.heads[1]


def test_a_20_mb_body_is_taken(stub: Stub, get: Getter, tmp_path: Path) -> None:
    """20 MB pass, also through the cache file."""
    body = b"7" * 20_000_000
    stub.say(200, body)
    assert get(budget=20.0).body == body
    assert get().from_cache
    assert (tmp_path / "http" / "answers.sqlite").stat().st_size > len(body)
