"""Small pieces of line drawings: ink on paper, no colour, each with its words."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

INK = "#000"
PAPER = "#fff"
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
SMALL = 11
"""[px] Letters of axes and notes."""
HATCH = (
    '<defs><pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V5" stroke="#000" stroke-width="2"/>'
    "</pattern></defs>"
)


def px(value: float) -> str:
    """A coordinate with one decimal, so that the same numbers give the same bytes."""
    text = f"{value:.1f}"
    return "0.0" if text == "-0.0" else text


def drawing(
    width: int, height: int, title: str, words: str, parts: Iterable[str]
) -> str:
    """A whole drawing; ``words`` say in text what it shows."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" role="img" font-family="{FONT}" '
        f'font-size="{SMALL}" fill="{INK}" stroke="none">\n'
        f"<title>{escape(title)}</title>\n<desc>{escape(words)}</desc>\n"
        f'{HATCH}\n<rect width="{width}" height="{height}" fill="{PAPER}"/>\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    size: int = SMALL,
    ink: str = "",
) -> str:
    """Words with their baseline at ``y``."""
    fill = f' fill="{ink}"' if ink else ""
    return (
        f'<text x="{px(x)}" y="{px(y)}" text-anchor="{anchor}" '
        f'font-size="{size}"{fill}>{escape(words)}</text>'
    )


def upright(x: float, y: float, words: str) -> str:
    """Words read from below, centred at ``y``."""
    return (
        f'<text transform="translate({px(x)} {px(y)}) rotate(-90)" '
        f'text-anchor="middle">{escape(words)}</text>'
    )


def line(
    points: Sequence[tuple[float, float]], *, width: float = 1.0, dash: str = ""
) -> str:
    """An open line through ``points``."""
    at = " ".join(f"{px(x)},{px(y)}" for x, y in points)
    dashes = f" stroke-dasharray={quoteattr(dash)}" if dash else ""
    return (
        f'<polyline points="{at}" fill="none" stroke="{INK}" '
        f'stroke-width="{px(width)}"{dashes}/>'
    )


def dot(x: float, y: float, *, filled: bool = True, radius: float = 3.5) -> str:
    """A dot, or a ring."""
    inside = INK if filled else PAPER
    return (
        f'<circle cx="{px(x)}" cy="{px(y)}" r="{px(radius)}" fill="{inside}" '
        f'stroke="{INK}"/>'
    )


def bar(x: float, y: float, width: float, height: float, *, fill: str) -> str:
    """A box with an outline; ``fill`` is solid, hatched or blank."""
    inside = {"solid": INK, "hatched": "url(#hatch)", "blank": PAPER}[fill]
    return (
        f'<rect x="{px(x)}" y="{px(y)}" width="{px(width)}" height="{px(height)}" '
        f'fill="{inside}" stroke="{INK}"/>'
    )


@dataclass(frozen=True, slots=True)
class Panel:
    """A rectangle of paper and the values at its edges."""

    left: float
    top: float
    right: float
    bottom: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, value: float) -> float:
        """Where a value lies across."""
        share = (value - self.x_low) / (self.x_high - self.x_low)
        return self.left + share * (self.right - self.left)

    def y(self, value: float) -> float:
        """Where a value lies up."""
        share = (value - self.y_low) / (self.y_high - self.y_low)
        return self.bottom - share * (self.bottom - self.top)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a point lies."""
        return self.x(x), self.y(y)

    def axes(
        self, x_ticks: Sequence[tuple[float, str]], y_ticks: Sequence[tuple[float, str]]
    ) -> list[str]:
        """The two axes with their marks and labels."""
        corner = [(self.left, self.top), (self.left, self.bottom)]
        parts = [line([*corner, (self.right, self.bottom)])]
        for value, label in x_ticks:
            x = self.x(value)
            parts += [
                line([(x, self.bottom), (x, self.bottom + 4)]),
                text(x, self.bottom + 16, label, anchor="middle"),
            ]
        for value, label in y_ticks:
            y = self.y(value)
            parts += [
                line([(self.left - 4, y), (self.left, y)]),
                text(self.left - 7, y + 4, label, anchor="end"),
            ]
        return parts


def steps(low: float, high: float) -> list[float]:
    """Round values from ``low`` to ``high`` (above it), two to six of them."""
    width = (high - low) / 6.0
    power = 10.0 ** math.floor(math.log10(width))
    step = next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= width)
    first, last = math.ceil(low / step), math.floor(high / step)
    return [number * step for number in range(first, last + 1)]


def apart(wanted: Sequence[float], least: float) -> list[float]:
    """Heights near those ``wanted``, at least ``least`` from each other."""
    order = sorted(range(len(wanted)), key=lambda number: (wanted[number], number))
    placed = list(wanted)
    for before, number in itertools.pairwise(order):
        placed[number] = max(placed[number], placed[before] + least)
    return placed
