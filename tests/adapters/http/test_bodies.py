"""Bodies that are too large, cut off, badly packed or no HTTP."""

from __future__ import annotations

import gzip
import tracemalloc
import zlib
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from forecaster.errors import UnusableError
from forecaster.sources.deadline import Deadline
from forecaster.sources.exchange import Fault, exchange

if TYPE_CHECKING:
    from forecaster.sources.conduct import Conduct
    from tests.adapters.http.conftest import Failing, Getter
    from tests.adapters.http.stub import Stub

BODY = b'{"hourly":{"time":["2026-09-14T20:00"],"rain":[0.2]}}' * 20


def test_gzip_is_unpacked(stub: Stub, get: Getter) -> None:
    """One member."""
    stub.gzipped(BODY)
    assert get().body == BODY


def test_gzip_of_two_members_is_unpacked(stub: Stub, get: Getter) -> None:
    """Two in a row are one body (RFC 1952 §2.2)."""
    stub.packed(gzip.compress(BODY[:9], mtime=0) + gzip.compress(BODY[9:], mtime=0))
    assert get().body == BODY


def bomb() -> bytes:
    """60 MB of nothing in 60 kB."""
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    zeros = bytes(10_000_000)
    packed = b"".join(packer.compress(zeros) for _ in range(6)) + packer.flush()
    assert len(packed) < 80_000
    return packed


def test_a_gzip_bomb_is_left_packed(
    stub: Stub, failing: Failing, quick: Conduct
) -> None:
    """Unpacking stops at the cap, and memory with it."""
    stub.packed(bomb())
    error, _ = failing(budget=20.0)
    assert type(error) is UnusableError
    assert "larger than 20,971,520 bytes" in str(error)
    small = replace(quick, largest_body=1_000_000)
    tracemalloc.start()
    try:
        error, _ = failing(budget=20.0, conduct=small)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert "larger than 1,000,000 bytes" in str(error)
    assert peak < 10_000_000


def test_a_body_over_the_cap_is_refused(
    stub: Stub, failing: Failing, quick: Conduct
) -> None:
    """By what its head says, or when it turns out so."""
    small = replace(quick, largest_body=len(BODY) - 1)
    stub.say(200, BODY)
    stub.say(200, BODY, Content_Length="")
    for _ in range(2):
        error, _ = failing(conduct=small)
        assert type(error) is UnusableError
        assert "larger" in str(error)


def test_a_packed_body_over_the_cap_is_refused(
    stub: Stub, failing: Failing, quick: Conduct
) -> None:
    """The cap on what is sent holds without a stated length too."""
    small = replace(quick, largest_wire=20)
    packed = gzip.compress(BODY, mtime=0)
    stub.say(200, packed, Content_Encoding="gzip", Content_Length="")
    error, _ = failing(conduct=small)
    assert type(error) is UnusableError
    assert "larger than 20 bytes" in str(error)


@pytest.mark.parametrize("packing", ["br", "deflate", "zstd", "gzip, gzip", "junk"])
def test_a_packing_not_asked_for_is_refused(
    stub: Stub, failing: Failing, packing: str
) -> None:
    """Only gzip was offered."""
    stub.packed(BODY, encoding=packing)
    error, _ = failing()
    assert type(error) is UnusableError


def test_bad_gzip_is_refused(stub: Stub, failing: Failing) -> None:
    """No gzip at all, and gzip with rubbish behind it."""
    stub.packed(BODY)
    stub.packed(gzip.compress(BODY, mtime=0) + b"rubbish")
    for _ in range(2):
        error, _ = failing()
        assert type(error) is UnusableError
        assert "badly packed" in str(error)


CHUNKED = (
    b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n"
    b"10\r\n" + BODY[:16] + b"\r\n8\r\n" + BODY[16:24] + b"\r\n0\r\n\r\n"
)
PACKED = gzip.compress(BODY, mtime=0)


@pytest.mark.parametrize(
    "whole",
    [
        b"HTTP/1.1 200 OK\r\nContent-Length: 24\r\n\r\n" + BODY[:24],
        # What follows the size of the last chunk says nothing more.
        CHUNKED.removesuffix(b"\r\n\r\n"),
        b"HTTP/1.1 200 OK\r\nContent-Encoding: gzip\r\n\r\n" + PACKED,
    ],
    ids=["length", "chunked", "gzip"],
)
def test_an_answer_cut_at_any_byte_is_not_accepted(
    stub: Stub, quick: Conduct, whole: bytes
) -> None:
    """Stated length, chunks and gzip each betray a missing end, wherever it is."""
    for end in range(len(whole) + 1):
        stub.raw(whole[:end])
    for end in range(len(whole)):
        got = exchange(stub.url, {}, quick, Deadline.after(5.0))
        # fetch refuses an empty body, which is all a broken head leaves.
        assert isinstance(got, Fault) or not got.body, f"cut at {end}"
    good = exchange(stub.url, {}, quick, Deadline.after(5.0))
    assert not isinstance(good, Fault)
    assert BODY.startswith(good.body)
    assert good.body


def test_a_short_body_is_not_accepted(stub: Stub, failing: Failing) -> None:
    """Content-Length promises more than comes."""
    stub.say(200, BODY, Content_Length="99999")
    error, _ = failing()
    assert type(error) is UnusableError
    assert "cut off" in str(error)


def test_a_length_that_says_too_little_is_the_parsers_affair(
    stub: Stub, get: Getter
) -> None:
    """HTTP ends a body where its length says; what is left over is not read."""
    stub.say(200, BODY, Content_Length="10")
    assert get().body == BODY[:10]


@pytest.mark.parametrize(
    "answer",
    [
        b"HTTP/1.1 200 OK\r\n" + b"X: 1\r\n" * 500 + b"\r\n{}",
        b"HTTP/1.1 200 OK\r\nX: " + b"1" * 1_000_000 + b"\r\n\r\n{}",
        b"SSH-2.0-service\r\n",
        b"\x00\x01\x02\r\n\r\n",
    ],
    ids=["500 headers", "1 MB header", "another protocol", "bytes"],
)
def test_what_is_not_http_is_refused(
    stub: Stub, failing: Failing, answer: bytes
) -> None:
    """Floods of headers and other protocols end at the door."""
    stub.raw(answer)
    error, _ = failing()
    assert type(error) is UnusableError
    assert "not HTTP" in str(error)


def test_a_parser_surprise_is_no_traceback(
    stub: Stub, failing: Failing, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An error of a kind nobody thought of becomes a plain one, its text withheld."""
    monkeypatch.setattr(
        "forecaster.sources.exchange.read_body",
        lambda *_, **__: dict[str, int]()["mark-secret-in-text"],
    )
    stub.say(200, BODY)
    error, _ = failing()
    assert type(error) is UnusableError
    assert "KeyError" in str(error)
    assert "mark-secret" not in str(error)
