"""requests-cache on top of our own way of asking.

requests-cache decides what is fresh, when to ask with conditions and what a "not
modified" means. It sees the canonical address only: secrets are added below it, so
they cannot come into its file.
"""

from __future__ import annotations

import logging
from contextlib import contextmanager
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from requests import PreparedRequest, Response
from requests.adapters import BaseAdapter
from requests.structures import CaseInsensitiveDict
from requests_cache.backends.base import BaseCache
from requests_cache.session import CachedSession
from urllib3 import HTTPResponse

from forecaster.sources.answer_table import BUSY_S, AnswerTable
from forecaster.sources.freshness import cache_control

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from forecaster.sources.asking import Asking
    from forecaster.sources.exchange import Answer

CACHE_FILE = "answers.sqlite"
LONGEST_BY_HEADER = 86_400
"""A header alone keeps no answer longer than a day."""
LONGEST = 10 * 365 * 86_400

_KEPT = ("content-type", "date", "etag", "last-modified", "deprecation", "sunset")
_CONDITIONS = ("If-None-Match", "If-Modified-Since")
_LONGEST_HEADER = 1000


@contextmanager
def http_session(folder: Path, asking: Asking) -> Iterator[CachedSession]:
    """A session for this one request; closed afterwards, its file too."""
    # It logs addresses, and traces of errors we report ourselves.
    logging.getLogger("requests_cache").setLevel(logging.CRITICAL)
    cache = BaseCache()
    fresh_for = min(asking.request.fresh_for, LONGEST)
    cache.responses = AnswerTable(
        folder / CACHE_FILE,
        now=asking.moment.given,
        longest=max(fresh_for, LONGEST_BY_HEADER),
        tell=asking.tell,
        busy_s=min(BUSY_S, asking.budget.left()),
    )
    key = answer_key(asking.request.url)
    with CachedSession(
        backend=cache,
        expire_after=fresh_for,
        cache_control=True,
        allowable_codes=(200, 203),
        allowable_methods=("GET",),
        match_headers=False,
        ignored_parameters=[*asking.request.secrets, *asking.request.headers],
        key_fn=lambda **_: key,
    ) as session:
        session.trust_env = False
        session.headers.clear()
        session.mount("https://", _Adapter(asking))
        session.mount("http://", _Adapter(asking))
        yield session


def answer_key(url: str) -> str:
    """The name of an answer in the cache."""
    return sha256(url.encode()).hexdigest()


class _Adapter(BaseAdapter):
    """Answers of ours in the shape requests-cache expects."""

    def __init__(self, asking: Asking) -> None:
        super().__init__()
        self._asking = asking

    def send(self, request: PreparedRequest, **_: Any) -> Response:  # type: ignore[override]  # the rest are settings of a transport we do not use
        conditions = {
            name: str(request.headers[name])
            for name in _CONDITIONS
            if name in request.headers
        }
        return _shaped(self._asking.ask(conditions), request, self._asking)

    def close(self) -> None:
        """Each request closes its own connection."""


def _shaped(answer: Answer, request: PreparedRequest, asking: Asking) -> Response:
    """Only headers that are needed later; no cookie, no secret."""
    redactor = asking.redactor()
    headers = {
        name: redactor.text(answer.headers[name])
        for name in _KEPT
        if _is_plain(answer.headers.get(name, ""))
    }
    control = cache_control(
        answer.headers,
        now=asking.moment.seconds(),
        longest=max(min(asking.request.fresh_for, LONGEST), LONGEST_BY_HEADER),
    )
    if control:
        headers["cache-control"] = control
    response = Response()
    response.status_code = answer.status
    response.headers = CaseInsensitiveDict(headers)
    response.url = asking.request.url
    response.request = request
    response.raw = HTTPResponse(status=answer.status, request_url=asking.request.url)
    response._content = redactor.body(answer.body)  # noqa: SLF001  # as adapters outside requests set it
    return response


def _is_plain(text: str) -> bool:
    """Whether a header may be kept and sent back: printable ASCII, not long."""
    return 0 < len(text) <= _LONGEST_HEADER and text.isascii() and text.isprintable()
