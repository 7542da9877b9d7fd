"""Fresh weather, or the last good weather with its age and the reason."""

from __future__ import annotations

import errno
import os
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
import pytest

from forecaster.errors import (
    LimitedError,
    PartialError,
    RefusedError,
    SourceError,
    TemporaryError,
    UnusableError,
)
from forecaster.sources.lastgood import LastGood
from forecaster.sources.refresh import Refreshed, age_text, refresh
from forecaster.sources.request import Parsed, Request

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.sources.conduct import Conduct
    from tests.adapters.http.stub import Stub

GOOD = b"rain=0.2"
BETTER = b"rain=0.4"
PORTAL = b"<html>Please log in</html>"
HOUR = np.timedelta64(3600, "s")


def parse(body: bytes, request: Request) -> Parsed:
    """Rain and nothing else is weather; the warnings carry it out to the test."""
    if not body.startswith(b"rain="):
        raise UnusableError(f"{request.source}: looks like a login page")
    return Parsed(warnings=(body.decode(),))


class Refresh(Protocol):
    """Refreshes from the stub; what is named is changed."""

    def __call__(self, **changes: Any) -> Refreshed: ...


@pytest.fixture
def store(tmp_path: Path) -> LastGood:
    """The store of this test."""
    return LastGood(tmp_path / "kept")


@pytest.fixture
def run(
    asked: Request,
    store: LastGood,
    quick: Conduct,
    now: np.datetime64,
    tmp_path: Path,
) -> Refresh:
    """Refresh, with the usual things."""

    def call(**changes: Any) -> Refreshed:
        given: dict[str, Any] = {
            "request": asked,
            "parse": parse,
            "folder": tmp_path / "http",
            "store": store,
            "now": now,
            "budget": 5.0,
            "conduct": quick,
        } | changes
        return refresh(given.pop("request"), given.pop("parse"), **given)

    return call


def body_of(refreshed: Refreshed) -> bytes:
    """The body the parsed weather came from."""
    return refreshed.parsed.warnings[0].encode()


def test_good_weather_is_kept(
    stub: Stub, run: Refresh, store: LastGood, asked: Request, now: np.datetime64
) -> None:
    """Parsed, fresh, saved; a second refresh within the hour makes no request."""
    stub.say(200, GOOD)
    for _ in range(2):
        got = run()
        assert (body_of(got), got.fresh, got.fault) == (GOOD, True, None)
        assert (got.retrieved_at, got.warnings) == (now, ("rain=0.2",))
    assert stub.count == 1
    kept = store.load(asked)
    assert kept is not None
    assert (kept.body, kept.retrieved_at) == (GOOD, now)


def gone(stub: Stub) -> None:
    """The service does not exist any more."""
    stub.stop()


@pytest.mark.parametrize(
    "case",
    [
        (gone, TemporaryError, "connection failed"),
        (lambda stub: stub.say(503), TemporaryError, "status 503"),
        (lambda stub: stub.say(429), LimitedError, "status 429"),
        (lambda stub: stub.say(200, PORTAL), UnusableError, "login page"),
        (
            lambda stub: stub.say(200, b"ra", Content_Length="9"),
            UnusableError,
            "cut off",
        ),
        (lambda stub: stub.say(400, b"bad variable"), RefusedError, "bad variable"),
        (lambda stub: stub.say(401, b"no key"), RefusedError, "no key"),
    ],
)
def test_any_failure_gives_the_last_good_weather(
    stub: Stub,
    run: Refresh,
    store: LastGood,
    asked: Request,
    case: Any,
) -> None:
    """With its age, one line why, and the good copy untouched."""
    fail, kind, words = case
    stub.say(200, GOOD)
    now = run().retrieved_at
    fail(stub)
    got = run(now=now + 5 * HOUR)
    assert (body_of(got), got.fresh, got.retrieved_at) == (GOOD, False, now)
    assert type(got.fault) is kind
    assert got.warnings[0].startswith("stub: weather got 5 h ago is used, because")
    assert words in got.warnings[0]
    loud = [line for line in got.warnings if "REFUSED" in line]
    assert bool(loud) is (kind is RefusedError)
    kept = store.load(asked)
    assert kept is not None
    assert kept.body == GOOD


def test_a_refused_body_is_not_in_the_cache(stub: Stub, run: Refresh) -> None:
    """A login page is asked past at once, not served for an hour."""
    stub.say(200, PORTAL)
    stub.say(200, GOOD)
    with pytest.raises(UnusableError, match="login page"):
        run()
    assert body_of(run()) == GOOD
    assert stub.count == 2


def test_better_weather_replaces_what_was_kept(
    stub: Stub, run: Refresh, now: np.datetime64
) -> None:
    """The newest accepted body is the one that is fallen back on."""
    stub.say(200, GOOD)
    stub.say(200, BETTER)
    stub.say(500)
    run()
    run(now=now + HOUR)
    got = run(now=now + 3 * HOUR)
    assert (body_of(got), got.retrieved_at) == (BETTER, now + HOUR)


def test_without_anything_kept_the_fault_is_raised(
    stub: Stub, run: Refresh, tmp_path: Path, now: np.datetime64
) -> None:
    """Its notes say what else went wrong."""
    stub.say(200, GOOD)
    stub.say(500)
    run()
    (path,) = (tmp_path / "kept").iterdir()
    path.write_bytes(b"damaged")
    with pytest.raises(TemporaryError, match="status 500") as caught:
        run(now=now + HOUR)
    assert "set aside" in caught.value.__notes__[0]


def test_kept_weather_that_is_refused_today_is_not_used(
    stub: Stub, run: Refresh, now: np.datetime64
) -> None:
    """Newer rules hold for older bodies; the fault of the service is raised."""

    def strict(body: bytes, request: Request) -> Parsed:
        raise UnusableError(f"{request.source}: {len(body)} bytes are not enough")

    stub.say(200, GOOD)
    stub.say(500)
    run()
    with pytest.raises(TemporaryError, match="status 500"):
        run(now=now + HOUR, parse=strict)


def test_offline(stub: Stub, run: Refresh, now: np.datetime64) -> None:
    """Fresh from the cache, later from the store; nothing is asked."""
    stub.say(200, GOOD)
    run()
    assert run(offline=True).fresh
    got = run(offline=True, now=now + 50 * HOUR)
    assert not got.fresh
    assert "2 days ago" in got.warnings[0]
    assert "offline" in got.warnings[0]
    assert stub.count == 1


def test_a_clock_set_back_is_said(stub: Stub, run: Refresh, now: np.datetime64) -> None:
    """Weather from the future: used, its age not made up, the clock named."""
    stub.say(200, GOOD)
    stub.say(500)
    run()
    got = run(now=now - 24 * HOUR)
    assert not got.fresh
    assert "got at a moment still to come" in got.warnings[0]
    assert "check its date and time" in got.warnings[1]
    assert any("set back" in line for line in got.warnings[2:])


def test_weather_that_cannot_be_kept_is_still_used(
    stub: Stub, run: Refresh, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk is a warning, not the end."""

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    stub.say(200, GOOD)
    monkeypatch.setattr("tempfile.mkstemp", full)
    got = run()
    assert got.fresh
    assert "could not be kept" in got.warnings[0]
    assert os.strerror(errno.ENOSPC) in got.warnings[0]


def test_a_parser_that_breaks_is_a_fault_of_ours(stub: Stub, run: Refresh) -> None:
    """Only a SourceError is a verdict on the weather."""

    def broken(body: bytes, request: Request) -> Parsed:
        raise ZeroDivisionError(len(body), request.source)

    stub.say(200, GOOD)
    with pytest.raises(ZeroDivisionError):
        run(parse=broken)


def test_203_is_said_beside_the_weather(stub: Stub, run: Refresh) -> None:
    """Notes of the transport come before those of the parser."""
    stub.say(203, GOOD)
    assert run().warnings == (
        "stub marks this product as beta or deprecated (status 203)",
        "rain=0.2",
    )


def test_one_budget_for_several_requests(
    stub: Stub, run: Refresh, asked: Request
) -> None:
    """A slow first product leaves the second what is left, down to nothing."""
    from forecaster.sources.deadline import Deadline

    stub.drip(b"HTTP/1.1 200 OK\r\n\r\n", b"1", 0.05)
    budget = Deadline.after(0.3)
    for product in ("hours", "days"):
        request = replace(asked, product=product)
        with pytest.raises(SourceError):
            run(request=request, budget=budget)
    assert stub.count == 1


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 min ago"),
        (3599, "59 min ago"),
        (3600, "1 h ago"),
        (172_799, "47 h ago"),
        (172_800, "2 days ago"),
        (-1, "at a moment still to come"),
    ],
)
def test_age_text(now: np.datetime64, seconds: int, text: str) -> None:
    """Minutes under an hour, hours under two days, then days."""
    assert age_text(now, now + np.timedelta64(seconds, "s")) == text


def test_what_is_kept_is_read_against_the_address_it_was_asked_by(
    run: Refresh, stub: Stub, asked: Request
) -> None:
    """Today's address may name other days than the answer of last week."""
    read: list[str] = []

    def noting(body: bytes, request: Request) -> Parsed:
        read.append(request.url)
        return parse(body, request)

    stub.say(200, GOOD)
    run(parse=noting)
    stub.say(503)
    old = run(parse=noting, request=replace(asked, url=asked.url + "&finish=2"))
    assert not old.fresh
    assert read == [asked.url, asked.url]


def test_a_partial_answer_can_be_read_again_without_asking(
    run: Refresh, stub: Stub, asked: Request, store: LastGood
) -> None:
    """Refused as a whole and not kept, yet a second reading needs no request."""

    def whole_only(body: bytes, request: Request) -> Parsed:
        raise PartialError(f"{request.source}: {len(body)} bytes are not all")

    stub.say(200, GOOD)
    with pytest.raises(PartialError):
        run(parse=whole_only)
    assert store.load(asked) is None
    assert run(request=replace(asked, product="part of it")).fresh
    assert stub.count == 1
