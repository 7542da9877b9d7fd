"""Forty names of paddocks that a careless program would trip over."""

from __future__ import annotations

HOSTILE = [
    "<img src=x onerror=alert(1)>", '"><script>', "{{ 7*7 }}", "${HOME}", "$(id)",
    "`id`", "%s%n", "'; DROP TABLE windows; --", '=HYPERLINK("x")', "+1", "-5 acre",
    "@x", "Dam; END:VEVENT", "comma, and \\ backslash", "..", "../../etc/passwd", "CON",
    "-rf", "a/b", "Ŧħorn", "Ünïcödé", "日本語の牧場", "مزرعة", "חווה", "ไร่", "🐑🐑🐑",
    "e\u0301clair", "ﬁeld", "Z̴̙̤̞͉͚̯̞̠͍͑ͫ̓ͪ̂ͫ̽A̴̵̜̰͔ͫ͗͢", "Σίσυφος", "&amp;", "&#x202e;", "]]>", "--",
    "\\r\\nBcc: x", "Subject: x", "null", "NaN", "0" * 80, "x" * 79 + "é",
]  # fmt: skip
"""All are allowed: a name is text, whatever it looks like."""
