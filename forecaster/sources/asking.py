"""From a question to a good answer or one clear error: waits, tries, verdicts."""

from __future__ import annotations

import json
import random
import re
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from forecaster.errors import (
    LimitedError,
    RefusedError,
    SourceError,
    TemporaryError,
    UnusableError,
)
from forecaster.sources.canonical_url import authority
from forecaster.sources.exchange import Answer, Fault, exchange
from forecaster.sources.host_memory import HostMemory, keep, recall
from forecaster.sources.redact import Redactor
from forecaster.sources.retry_after import limit_wait, retry_after

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from forecaster.sources.conduct import Conduct
    from forecaster.sources.deadline import Deadline, Moment
    from forecaster.sources.request import Request

GOOD = frozenset({200, 203})
NOT_MODIFIED = 304
TOO_MANY = 429
WAIT_A_LITTLE = frozenset({408, 425})
"""Request time-out and "too early" (RFC 9110 §15.5.9, RFC 8470 §5.2): not our fault."""
TRY_AGAIN = frozenset({500, 502, 503, 504})
SERVER_FAULT = 500
CLIENT_FAULT = 400

_REASONS = ("reason", "message", "detail", "title", "error_description", "error")
_TAG = re.compile(r"<(script|style)\b.*?</\1\s*>|<[^>]*>", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Asking:
    """All that one request needs on its way out."""

    request: Request
    conduct: Conduct
    budget: Deadline
    moment: Moment
    memory_file: Path
    offline: bool
    tell: Callable[[str], None]

    def ask(self, conditions: Mapping[str, str]) -> Answer:
        """An answer with status 200, 203, or 304 if ``conditions`` were sent.

        Raises
        ------
        TemporaryError
            If we are offline, the host rests, or nothing came after all tries.
        LimitedError
            If the service wants to be left alone.
        RefusedError
            If it refused the request.
        UnusableError
            If what came is no answer to it.
        """
        if self.offline:
            raise self._named(TemporaryError("we are offline, so it was not asked"))
        if not self.budget.left():
            raise self._named(TemporaryError("no time was left to ask it"))
        now = self.moment.seconds()
        memory = recall(self.memory_file, now)
        closed = _raised(memory.check, now)
        if closed:
            raise self._named(closed)
        got = self._tried(conditions)
        fault = got.error if isinstance(got, Fault) else self._verdict(got, conditions)
        self._remember(memory, fault)
        if isinstance(got, Fault) or fault:
            raise self._named(fault or UnusableError("no answer"))
        return got

    def redactor(self) -> Redactor:
        """What takes this request's secrets out."""
        return Redactor.of(self.request)

    def _tried(self, conditions: Mapping[str, str]) -> Answer | Fault:
        """The first answer that trying again cannot mend."""
        url, headers = self._on_the_wire(conditions)
        attempt = 0
        while True:
            deadline = self.budget.within(self.conduct.try_s)
            got = exchange(url, headers, self.conduct, deadline)
            wait = self._pause(got, attempt)
            if wait is None:
                return got
            time.sleep(wait)
            attempt += 1

    def _pause(self, got: Answer | Fault, attempt: int) -> float | None:
        """Seconds before the next try; None if there is to be none."""
        if attempt == self.conduct.retries:
            return None
        if isinstance(got, Fault):
            asked = None
            again = got.again
        else:
            asked = self._asked_wait(got)
            again = got.status in TRY_AGAIN
        grown = self.conduct.backoff_s * 2**attempt * random.uniform(0.5, 1.5)
        wait = max(grown, asked or 0)
        short = (asked or 0) <= self.conduct.longest_wait_s
        return wait if again and short and wait < self.budget.left() else None

    def _on_the_wire(self, conditions: Mapping[str, str]) -> tuple[str, dict[str, str]]:
        url = self.request.url
        for name, value in sorted(self.request.secrets.items()):
            mark = "&" if "?" in url else "?"
            # A lone surrogate cannot be encoded; the service will refuse the key.
            pair = quote(name, safe="") + "=" + quote(value, safe="", errors="replace")
            url += mark + pair
        headers = {
            "User-Agent": self.conduct.user_agent,
            "Accept-Encoding": "gzip",
            "Connection": "close",
            **conditions,
            **self.request.headers,
        }
        return url, headers

    def _verdict(
        self, got: Answer, conditions: Mapping[str, str]
    ) -> SourceError | None:
        status = got.status
        if status in GOOD:
            # A line that breaks in the head looks like this too.
            return None if got.body else UnusableError("the answer is empty")
        if status < CLIENT_FAULT:
            known = status == NOT_MODIFIED and conditions
            words = f"it answered with status {status}, which is no weather"
            return None if known else UnusableError(words)
        reason = self._reason(got)
        asked = self._asked_wait(got)
        told = f"status {status}" + (f": {reason}" if reason else "")
        if status == TOO_MANY:
            now = self.moment.seconds()
            wait = limit_wait(reason, now) if asked is None else asked
            return LimitedError(told, now + wait)
        if status >= SERVER_FAULT or status in WAIT_A_LITTLE:
            until = self.moment.seconds() + (asked or 0)
            long = (asked or 0) > self.conduct.longest_wait_s
            trouble = TemporaryError(f"it is in trouble ({told})")
            return LimitedError(told, until) if long else trouble
        return RefusedError(f"it refused the request ({told})")

    def _asked_wait(self, got: Answer) -> int | None:
        headers = got.headers
        return retry_after(
            headers.get("retry-after"),
            date=headers.get("date"),
            now=self.moment.seconds(),
        )

    def _reason(self, got: Answer) -> str:
        """The service's own words, without secrets, on one line."""
        text = got.body.decode("utf-8", "replace")
        try:
            found = json.loads(text)
        except (ValueError, RecursionError):
            found = None
        if isinstance(found, dict):
            words = (found[name] for name in _REASONS if name in found)
            text = next((each for each in words if isinstance(each, str)), text)
        else:
            text = _TAG.sub(" ", text)
        return self.redactor().reason(text)

    def _remember(self, memory: HostMemory, fault: SourceError | None) -> None:
        """A refusal is an answer too: the host is up."""
        now = self.moment.seconds()
        if isinstance(fault, LimitedError):
            wait = fault.not_before - now
            after = memory.limited(now, wait, str(fault))
        elif isinstance(fault, TemporaryError | UnusableError):
            after = memory.failed(now)
        else:
            after = memory.worked(now)
        plain = (after.not_before, after.failures, after.rest_until)
        if plain == (memory.not_before, memory.failures, memory.rest_until):
            return
        if not keep(self.memory_file, after):
            self.tell("what this service asked of us cannot be written down")

    def _named(self, fault: SourceError) -> SourceError:
        """The same fault, saying whose it is."""
        host = authority(self.request.url)
        words = f"{self.request.source} ({host}): {self.redactor().text(str(fault))}"
        if isinstance(fault, LimitedError):
            return LimitedError(words, fault.not_before)
        return type(fault)(words)


def _raised(check: Callable[[int], None], now: int) -> SourceError | None:
    try:
        check(now)
    except SourceError as error:
        return error
    return None
