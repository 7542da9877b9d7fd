"""JSON that is loose, broken or hostile is one clear refusal (RFC 8259 is the rule)."""

from __future__ import annotations

import json

import pytest

from forecaster.errors import RefusedError, UnusableError
from forecaster.sources.strict_json import LARGEST, decode


def test_a_plain_object_and_a_byte_order_mark_are_read() -> None:
    """RFC 8259 §8.1 lets a reader ignore the mark."""
    text = '{"a": [1, 2.5, null], "°": "x"}'
    assert decode(text.encode(), "Here") == json.loads(text)
    assert decode(b"\xef\xbb\xbf" + text.encode(), "Here") == json.loads(text)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"null", "one null"),
        (b"[]", "one list"),
        (b"[{}]", "one list"),
        (b'"a"', "one str"),
        (b"3", "one int"),
        (b"<html><title>Sign in</title>", "web page"),
        (b"{} trailing", "Extra data"),
        (b'{"a": 1}{"a": 1}', "Extra data"),
        (b'{"a": NaN}', "NaN is not a JSON number"),
        (b'{"a": [1, Infinity]}', "Infinity is not a JSON number"),
        (b'{"a": -Infinity}', "-Infinity is not a JSON number"),
        (b'{"a": 1, "b": 2, "a": 3}', "'a' stands twice"),
        (b'{"a": {"b": 1, "b": 1}}', "'b' stands twice"),
        (b'{"a": \xff}', "not UTF-8"),
        (b"\xff\xfe{\x00}\x00", "not UTF-8"),
        (b"[" * 100_000, "nests deeper"),
        (b'{"a":' * 100_000, "nests deeper"),
        (b'{"a": ' + b"9" * 5000 + b"}", "not strict JSON"),
        (b'{"a": 01}', "cut off or broken"),
        (b"{'a': 1}", "cut off or broken"),
        (b" " * (LARGEST + 1), "bytes"),
    ],
)
def test_anything_looser_is_unusable(body: bytes, said: str) -> None:
    """Each is refused in words, with the service's name."""
    with pytest.raises(UnusableError, match=r"^Here: ") as caught:
        decode(body, "Here")
    assert said in str(caught.value)


def test_an_answer_that_broke_off_shows_its_last_words() -> None:
    """Open-Meteo's server ends a body it cannot finish in a sentence (its source)."""
    body = b'{"hourly":{"time":["2026-09-14T20:00"],"temperature_2m":[5.6,Unexpected'
    with pytest.raises(UnusableError, match=r"broken at character \d+.*Unexpected"):
        decode(body + b" error while streaming data", "Here")


def test_an_error_document_is_refused_with_its_reason() -> None:
    """``{"error": true, "reason": …}``, control characters and length tamed."""
    body = {"error": True, "reason": "Cannot\x1b[31m read\n" + "x" * 500}
    with pytest.raises(RefusedError) as caught:
        decode(json.dumps(body).encode(), "Here")
    text = str(caught.value)
    assert text.startswith("Here refused the request: Cannot [31m read x")
    assert text.isprintable()
    assert len(text) < 260
    with pytest.raises(RefusedError, match="no reason given"):
        decode(b'{"error": "yes"}', "Here")
    assert decode(b'{"error": false}', "Here") == {"error": False}
