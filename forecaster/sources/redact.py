"""Keys never leave by accident: words taken out of texts and bodies."""

from __future__ import annotations

import html
import json
import re
import unicodedata
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import quote, quote_plus

if TYPE_CHECKING:
    from forecaster.sources.request import Request

HIDDEN = "***"
LONGEST_REASON = 200
"""Characters of a service's own words that are repeated."""
SHORTEST = 3
"""A shorter secret would take letters out of every message."""
SHORTEST_IN_BODY = 8
"""A shorter one might be taken out of weather."""

_OPEN_HEADERS = frozenset({"accept", "accept-language", "user-agent"})


@dataclass(frozen=True, slots=True)
class Redactor:
    """Takes the secrets of one request out of whatever comes back."""

    words: tuple[str, ...] = field(repr=False)

    @classmethod
    def of(cls, request: Request) -> Redactor:
        """Query secrets, and header values with their parts, longest first."""
        values = list(request.secrets.values())
        for name, value in request.headers.items():
            if name.lower() not in _OPEN_HEADERS:
                values += [value, *value.split()]
        spellings = {each for value in values for each in _spellings(value)}
        long = [each for each in spellings if len(each) >= SHORTEST]
        return cls(tuple(sorted(long, key=lambda each: (-len(each), each))))

    def text(self, text: str) -> str:
        """One line without secrets, control or direction characters."""
        line = " ".join(_visible(self._hidden(text)).split())
        # Taking out hidden characters can put a secret together.
        return self._hidden(line)

    def reason(self, text: str) -> str:
        """The beginning of a service's own words."""
        line = self.text(text)
        return line if len(line) <= LONGEST_REASON else line[: LONGEST_REASON - 1] + "…"

    def body(self, body: bytes) -> bytes:
        """A body in which no long secret stands."""
        for word in self.words:
            if len(word) >= SHORTEST_IN_BODY:
                body = body.replace(
                    word.encode(errors="surrogatepass"), HIDDEN.encode()
                )
        return body

    def _hidden(self, text: str) -> str:
        for word in self.words:
            # Host names come back in small letters.
            text = re.sub(re.escape(word), HIDDEN, text, flags=re.IGNORECASE)
        return text


def _spellings(value: str) -> set[str]:
    """A value as it may be echoed in an address, in JSON or in HTML."""
    sent = [
        quote(value, safe="", errors="replace"),
        quote_plus(value, errors="replace"),
    ]
    lower = [_lower_hex(each) for each in sent]
    return {value, *sent, *lower, json.dumps(value)[1:-1], html.escape(value)}


def _lower_hex(text: str) -> str:
    first, *rest = text.split("%")
    return "%".join([first, *(each[:2].lower() + each[2:] for each in rest)])


def _visible(text: str) -> str:
    """White space for control characters; others of category C are dropped."""
    return "".join(
        " " if unicodedata.category(each) in {"Cc", "Zl", "Zp"} else each
        for each in text
        if unicodedata.category(each) not in {"Cf", "Cs", "Co", "Cn"}
    )
