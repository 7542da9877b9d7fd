"""One paddock's season in letters: a row every third day, heads by ripeness."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.domain.season_page import Ripeness
from forecaster.render import head_words, words
from forecaster.render.json import paddock_tree
from forecaster.render.plain_values import iso, number
from forecaster.render.text import paddock_lines
from forecaster.render.words import LocalClock

if TYPE_CHECKING:
    from forecaster.domain.outlook import Likely
    from forecaster.domain.season_page import SeasonPage

EVERY = 3
"""[d] between rows."""
HALF_A_DAY = np.timedelta64(12, "h")
COLUMNS = 30
LETTERS = {
    Ripeness.NOT_OUT: ".",
    Ripeness.OUT: "o",
    Ripeness.MILK: "m",
    Ripeness.SOFT: "d",
    Ripeness.HARD: "#",
}


def render(page: SeasonPage) -> str:
    """The page in 80 columns."""
    clock = LocalClock(page.place.zone)
    paddock = page.paddock
    banner = head_words.banner(demo=page.demo, invented=page.weather.invented)
    found = words.wrapped(banner) if banner else []
    found += words.wrapped(
        f"{paddock.name}, {page.farm}: {paddock.weed_name} over the season, as seen on "
        f"{clock.full(page.now)}"
    )
    for warning in page.weather.warnings:
        found += words.bullet(warning)
    found += ["", _legend()]
    marks = _marks(page, clock)
    for at in range(0, page.noon.size, EVERY):
        found += _row(page, at, marks, clock)
    found += ["", *(line.text for line in paddock_lines(paddock, clock))]
    found += [""]
    for caution in page.cautions:
        found += words.bullet(caution)
    return "\n".join(found) + "\n"


def _legend() -> str:
    ways = "  ".join(f"{letter} {kind.value}" for kind, letter in LETTERS.items())
    return f"{'heads':8}{ways}"


def _row(
    page: SeasonPage, at: int, marks: list[tuple[np.datetime64, str]], clock: LocalClock
) -> list[str]:
    """A row and, where more happens than fits beside it, lines under it."""
    noon = page.noon[at]
    start = noon - HALF_A_DAY
    end = start + 2 * EVERY * HALF_A_DAY
    here = "; ".join(word for moment, word in marks if start <= moment < end)
    left = f"{clock.day(noon):>6}  {_bar(page.shares[at])}  "
    first, *rest = words.wrapped(here, words.WIDTH - len(left)) or [""]
    return [f"{left}{first}".rstrip(), *(" " * len(left) + part for part in rest)]


def _bar(shares: np.typing.NDArray[np.float64]) -> str:
    """Shares as letters; each ends where its sum does, so the bar is always full."""
    if np.isnan(shares).any():
        return f"{'not known':{COLUMNS}}"
    ends = np.floor(np.cumsum(shares) * COLUMNS + 0.5).astype(int)
    ends[-1] = COLUMNS
    starts = np.concatenate([[0], ends[:-1]])
    return "".join(
        letter * (int(end) - int(start))
        for letter, start, end in zip(LETTERS.values(), starts, ends, strict=True)
    )


def _marks(page: SeasonPage, clock: LocalClock) -> list[tuple[np.datetime64, str]]:
    """What happens when, in order: looks, today and the edges of the windows."""
    marks = [
        (look.moment, f"look, {words.count(look.heads, 'head')}") for look in page.looks
    ]
    marks.append((page.now, "TODAY"))
    stock = page.paddock.stock
    if stock is not None and stock.off.likely is not None:
        first, last = stock.off.likely
        marks.append((_noon(page, first), f"stock off, to {words.date(last)}"))
    for active in page.paddock.actives:
        if active.window is not None:
            for verb, edge in (
                ("opens", active.window.open), ("closes", active.window.closed),
            ):  # fmt: skip
                if edge.likely is not None:
                    marks.append(
                        (edge.likely, f"{active.active} {verb}{_ends(edge, clock)}")
                    )
    return sorted(marks, key=lambda mark: mark[0])


def _noon(page: SeasonPage, day: np.datetime64) -> np.datetime64:
    """UTC of noon of a calendar day at the farm; not drawn where it is not known."""
    away = page.noon - (day.astype("datetime64[s]") + HALF_A_DAY)
    nearest: np.datetime64 = page.noon[int(np.argmin(np.abs(away)))]
    return nearest


def _ends(edge: Likely, clock: LocalClock) -> str:
    ends = (
        "later" if day is None else clock.day(day) for day in (edge.early, edge.late)
    )
    return f" ({' to '.join(ends)})"


def tree(page: SeasonPage) -> dict[str, Any]:
    """The page as plain values; shares in the order of ``ripeness``."""
    return {
        "farm": page.farm,
        "demo": page.demo,
        "at": iso(page.now),
        "ripeness": [kind.value for kind in Ripeness],
        "noon": [iso(moment) for moment in page.noon],
        "shares": [[number(each) for each in row] for row in page.shares.tolist()],
        "looks": [{"at": iso(look.moment), "heads": look.heads} for look in page.looks],
        "paddock": paddock_tree(page.paddock),
        "warnings": list(page.weather.warnings),
        "cautions": list(page.cautions),
    }
