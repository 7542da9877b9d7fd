"""Names that are only text: forty that a farm file takes, and every page must show.

Markup, formulas, quotes, escapes, words of the formats themselves, other scripts and
directions, marks piled up, and the longest there is.
"""

from __future__ import annotations

HOSTILE = (
    "<img src=x onerror=alert(1)>",
    '"><script>alert(1)</script>',
    "</td></tr></table><h1>",
    "-- ﬁeld <!-- Σίσυφος -->",
    "]]>",
    "&amp; &lt;b&gt; &#x202e;",
    "{{ 7*7 }} {% raw %}",
    "${HOME} $(id) `id`",
    "%s%n %(name)s {0}",
    "'; DROP TABLE paddocks; --",
    '=HYPERLINK("http://x.invalid","x")',
    "=1+1",
    "..",
    "-5 acre",
    "@SUM(A1:A9)",
    "＝1+1",
    "+1 ＋1 ＠x",
    "'=already quoted",
    " =after a space",
    'say "hi", then go',
    ",,,;;;",
    "END:VEVENT",
    "Dam; BEGIN:VALARM, and \\n a backslash \\",
    "\\\\;\\,\\N\\",
    "UID:1;VALUE=DATE:20261012",
    "| a | b | --- |",
    "**bold** _it_ ~~no~~ [x](javascript:alert(1))",
    "# Heading",
    "Subject: x\\r\\nBcc: y",
    "![x](http://x.invalid/x.png) www.x.invalid",
    "../../etc/passwd",
    "CON",
    "NaN",
    "null",
    "日本語の牧場、西側、二番目",
    "مزرعة الشمال",
    "שדה 7 ליד הנחל",
    "👩‍🌾🐑🐑 north",
    "Z͑ͫ̓ͪ̂ͫ̽A̴̵̜̰͔ͫ͗͢L̠ͨͧͩ͘G̴̻͈͍͔̹̑͗̎̅͛́Ǫ̵̹̻̝̳͂̌̌͘ e\u0301clair",
    "x" * 79 + "é",
)
