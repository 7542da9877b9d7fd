"""The temperature fan as a drawing: ink on paper, a band and a line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

if TYPE_CHECKING:
    from forecaster.domain.weather import Floats
    from forecaster.domain.weather_report import WeatherReport

WIDTH, HEIGHT = 720, 300
LEFT, RIGHT, TOP, BOTTOM = 48, 12, 34, 34
STEP = 5.0
"""[°C] between the lines of the scale."""


def render(report: WeatherReport) -> str:
    """A self-contained SVG with a text equivalent; no script, no outside resource."""
    fan = report.fan
    known = ~(np.isnan(fan.low) | np.isnan(fan.high))
    days = fan.day[known]
    low, middle, high = (each[known] for each in (fan.low, fan.middle, fan.high))
    title = f"{report.farm}: mean temperature of the day ahead"
    if days.size == 0:
        return _page(title, "No temperature is known beyond today.", [])
    floor = np.floor(low.min() / STEP) * STEP
    roof = np.ceil(high.max() / STEP) * STEP
    roof = max(roof, floor + STEP)

    frame = _Frame(float(floor), float(roof), days.size)
    x = frame.across(np.arange(days.size, dtype=np.float64))
    edge = np.concatenate((x, x[::-1]))
    rim = np.concatenate((frame.down(high), frame.down(low[::-1])))
    parts = [_scale(frame), _dates(days, x)]
    parts.append(f'<polygon points="{_points(edge, rim)}" fill="#ddd" stroke="none"/>')
    for values, dash in ((low, "3 3"), (high, "3 3"), (middle, "none")):
        parts.append(
            f'<polyline points="{_points(x, frame.down(values))}" fill="none" '
            f'stroke="#000" stroke-width="1.5" stroke-dasharray="{dash}"/>'
        )
    said = (
        f"{days[0]} to {days[-1]}: likely mean {middle[0]:.1f} to {middle[-1]:.1f} °C; "
        "8 in 10 traces lie in the grey."
    )
    return _page(title, said, parts)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Days and degrees on paper."""

    floor: float
    roof: float
    days: int

    def across(self, index: Floats) -> Floats:
        return LEFT + (WIDTH - LEFT - RIGHT) * index / max(self.days - 1, 1)

    def down(self, value: Floats) -> Floats:
        share = (self.roof - value) / (self.roof - self.floor)
        return TOP + (HEIGHT - TOP - BOTTOM) * share


def _page(title: str, said: str, parts: list[str]) -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="{WIDTH}" height="{HEIGHT}" role="img" font-family="sans-serif" '
        f'font-size="12"><title>{escape(title)}</title><desc>{escape(said)}</desc>'
        f'<rect width="100%" height="100%" fill="#fff"/>'
        f'<text x="{LEFT}" y="16" font-weight="bold">{escape(title)}</text>'
        f'<text x="{LEFT}" y="30">{escape(said)}</text>'
    )
    return head + "".join(parts) + "</svg>\n"


def _scale(frame: _Frame) -> str:
    lines = []
    for value in np.arange(frame.floor, frame.roof + STEP / 2, STEP):
        y = float(frame.down(np.array(value)))
        lines.append(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" '
            f'stroke="#999" stroke-width="0.5"/>'
            f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">'
            f"{value:.0f} °C</text>"
        )
    return "".join(lines)


def _dates(days: np.typing.NDArray[np.datetime64], x: Floats) -> str:
    return "".join(
        f'<text x="{x[at]:.1f}" y="{HEIGHT - 12}" text-anchor="middle">'
        f"{days[at].item().day} {days[at].item():%b}</text>"
        for at in range(0, days.size, 7)
    )


def _points(x: Floats, y: Floats) -> str:
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
