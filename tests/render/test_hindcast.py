"""Hindcasts on paper: what is printed and drawn is what was found."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from forecaster.domain.hindcast_report import Hindcast, LeadScore
from forecaster.domain.place import Place
from forecaster.domain.spraying.limits import Quantity
from forecaster.domain.verification.calls import Calls
from forecaster.domain.verification.chances import brier_score, reliability_table
from forecaster.domain.verification.errors import ErrorSummary
from forecaster.render import hindcast_svg, hindcast_text, svg

SVG = "{http://www.w3.org/2000/svg}"
SAID = np.array([0.05] * 20 + [0.55] * 10 + [0.95] * 20)
CAME = np.array([1.0] * 2 + [0.0] * 18 + [1.0] * 6 + [0.0] * 4 + [1.0] * 19 + [0.0])


def errors(bias: float, mae: float, rmse: float, count: int = 1234) -> ErrorSummary:
    """Errors as a hindcast gives them."""
    return ErrorSummary(np.array(count), np.array(bias), np.array(mae), np.array(rmse))


def score(lead: int, growth: float) -> LeadScore:
    """One lead whose errors are ``growth`` times those of day 1."""
    return LeadScore(
        lead=lead,
        hours=1240,
        errors={
            Quantity.WIND_10M: errors(0.5 * growth, 1.0 * growth, 1.5 * growth),
            Quantity.DELTA_T: errors(-0.5 * growth, 0.8 * growth, 1.1 * growth),
            Quantity.AIR_TEMPERATURE: errors(-0.01, 1.0, 1.2),
            Quantity.RELATIVE_HUMIDITY: errors(np.nan, np.nan, np.nan, 0),
        },
        calls=Calls(400, 100, 200, 534, unknown=6),
        brier=brier_score(SAID, CAME),
        reliability=reliability_table(SAID, CAME),
    )


REPORT = Hindcast(
    place=Place(-34.5, 138.7, 65.0, "Australia/Adelaide"),
    observed="station <A> & mast",
    forecast=("a model", "another"),
    first=np.datetime64("2026-08-01T00:00:00", "s"),
    end=np.datetime64("2026-10-01T00:00:00", "s"),
    limits=("wind at least 3 km/h", "wind at most 20 km/h"),
    daylight=True,
    leads=(score(1, 1.0), score(3, 2.0)),
)


def parsed(drawing: str) -> ET.Element:
    """The drawing read back by the standard library."""
    return ET.fromstring(drawing)  # noqa: S314 - our own bytes


def texts(root: ET.Element) -> list[str]:
    """All words of a drawing."""
    return [each.text or "" for each in root.iter(f"{SVG}text")]


def test_the_text_keeps_to_80_columns_and_says_the_numbers() -> None:
    """Wind is in km/h: 0.5 m/s is 1.8, 1.5 m/s is 5.4 km/h."""
    text = hindcast_text.render(REPORT)
    lines = text.splitlines()
    assert max(map(len, lines)) <= 80
    row = next(line for line in lines if line.startswith("wind at 10 m, km/h"))
    assert row.split()[-5:] == ["day", "1,234", "+1.8", "3.6", "5.4"]
    calls = next(line for line in lines if re.match(r" +1 day +500", line))
    assert calls.split()[2:] == ["500", "100", "20", "600", "200", "33", "534", "6"]
    assert "station <A> & mast" in text
    assert any("0.0 to 0.1" in line and "0.10" in line for line in lines)
    humidity = next(line for line in lines if line.startswith("humidity, %"))
    assert humidity.split()[-3:] == ["-", "-", "-"]
    air = next(line for line in lines if line.startswith("air temperature"))
    assert air.split()[-3] == "0.0"


def test_the_text_of_little() -> None:
    """No chances, no leads, outcomes that never change."""
    bare = replace(REPORT.leads[0], brier=None, reliability=None)
    assert "Brier" not in hindcast_text.render(replace(REPORT, leads=(bare,)))
    nothing = hindcast_text.render(replace(REPORT, leads=(), forecast=()))
    assert "Forecast: none." in nothing
    assert "Hours called good" not in nothing
    night = hindcast_text.render(replace(REPORT, daylight=False))
    assert "day and night" in " ".join(night.split())
    never = hindcast_text.brier_words(brier_score(np.zeros(3), np.zeros(3)))
    assert "never changed" in never
    none = hindcast_text.brier_words(brier_score(np.array([]), np.array([])))
    assert none.startswith("No chance")


@pytest.mark.parametrize(
    "draw",
    [
        lambda report: hindcast_svg.reliability(report, 3),
        hindcast_svg.error_by_lead,
        hindcast_svg.calls_by_lead,
    ],
    ids=["reliability", "errors", "calls"],
)
def test_drawings_are_whole_and_the_same_each_time(draw) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001 - three drawing functions
    """Valid XML with a title and words, same bytes twice, only black and white."""
    drawing = draw(REPORT)
    assert drawing == draw(REPORT)
    root = parsed(drawing)
    width, height = (float(root.get(side, "0")) for side in ("width", "height"))
    title, words = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert title.text
    assert words is not None
    assert "3 days" in title.text or "3 days" in (words.text or "")
    assert set(re.findall(r"#[0-9a-f]{3,6}", drawing)) == {"#000", "#fff"}
    for each in root.iter():
        x, y = each.get("x", each.get("cx")), each.get("y", each.get("cy"))
        if x is not None and y is not None:
            assert 0 <= float(x) <= width
            assert 0 <= float(y) <= height


def test_reliability_dots_lie_where_the_table_says() -> None:
    """Told 0.05, 0.55, 0.95; came true 2/20, 6/10, 19/20; read off the axes."""
    root = parsed(hindcast_svg.reliability(REPORT, 1))
    dots = [
        (float(each.get("cx", "nan")), float(each.get("cy", "nan")))
        for each in root.iter(f"{SVG}circle")
    ]
    marks = {
        each.text: (float(each.get("x", "nan")), float(each.get("y", "nan")))
        for each in root.iter(f"{SVG}text")
        if each.get("text-anchor") == "middle"
    }
    left, right = marks["0.0"][0], marks["1.0"][0]
    heights = [
        float(each.get("y", "nan")) - 4
        for each in root.iter(f"{SVG}text")
        if each.get("text-anchor") == "end" and each.text in {"0.0", "1.0"}
    ]
    bottom, top = heights
    found = [
        ((x - left) / (right - left), (bottom - y) / (bottom - top)) for x, y in dots
    ]
    expected = [(0.05, 0.1), (0.55, 0.6), (0.95, 0.95)]
    np.testing.assert_allclose(found, expected, atol=0.002)
    words = root.find(f"{SVG}desc")
    assert words is not None
    assert "Told 0.55: came true 0.60" in (words.text or "")


def test_call_bars_are_as_long_as_their_hours() -> None:
    """400 hits, 100 false goes and 200 missed hours in one scale."""
    root = parsed(hindcast_svg.calls_by_lead(REPORT))
    bars = [
        (each.get("fill"), float(each.get("width", "nan")))
        for each in root.iter(f"{SVG}rect")
    ][4:8]
    assert [fill for fill, _ in bars] == ["#000", "url(#hatch)", "#000", "#fff"]
    hours = [width / bars[0][1] * 400 for _, width in bars]
    np.testing.assert_allclose(hours, [400, 100, 400, 200], atol=0.5)
    assert "500 h, of them not fit 100 (20 in 100)" in texts(root)


def test_error_lines_rise_with_the_lead() -> None:
    """Twice the error is twice as far from the zero line, and gaps are left out."""
    root = parsed(hindcast_svg.error_by_lead(REPORT))
    dots = [float(each.get("cy", "nan")) for each in root.iter(f"{SVG}circle")]
    zero = [
        [float(point.split(",")[1]) for point in each.get("points", "").split()]
        for each in root.iter(f"{SVG}polyline")
        if each.get("stroke-width") == "0.5"
    ]
    assert len(dots) == 12
    for number, height in ((0, zero[0][0]), (6, zero[1][0])):
        for first in range(number, number + 6, 2):
            near, far = dots[first : first + 2]
            assert (far - height) / (near - height) == pytest.approx(2.0, abs=0.03)
    unknown = errors(np.nan, np.nan, np.nan, 0)
    gap = replace(
        REPORT.leads[0],
        errors={**REPORT.leads[0].errors, Quantity.WIND_10M: unknown},
    )
    root = parsed(hindcast_svg.error_by_lead(replace(REPORT, leads=(gap,))))
    assert len(list(root.iter(f"{SVG}circle"))) == 3


def test_names_of_lines_keep_apart() -> None:
    """Three that meet are spread, those far off stay."""
    assert svg.apart([50.0, 50.0, 10.0], 13.0) == [50.0, 63.0, 10.0]
    assert svg.apart([], 13.0) == []


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.0, 10.0, [0, 2, 4, 6, 8, 10]),
        (-0.9, 0.7, [-0.5, 0.0, 0.5]),
        (-3.0, 97.0, [0, 20, 40, 60, 80]),
        (0.0, 0.03, [0.0, 0.005, 0.01, 0.015, 0.02, 0.025, 0.03]),
    ],
)
def test_marks_of_an_axis_are_round(
    low: float, high: float, expected: list[float]
) -> None:
    """Steps of 1, 2 or 5; by hand."""
    assert svg.steps(low, high) == pytest.approx(expected)


def test_minus_nothing_is_nothing() -> None:
    """A coordinate just under 0 is written without its sign."""
    assert svg.px(-0.01) == "0.0"


def test_words_of_others_cannot_break_a_drawing() -> None:
    """Titles and words are escaped."""
    root = parsed(svg.drawing(9, 9, "a < b & c", '"<x>"', [svg.text(1, 1, "<&>")]))
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == "a < b & c"
    assert texts(root) == ["<&>"]


def test_what_cannot_be_drawn_is_refused() -> None:
    """No such lead, no chances, no lead at all."""
    with pytest.raises(KeyError):
        hindcast_svg.reliability(REPORT, 9)
    bare = replace(REPORT.leads[0], brier=None, reliability=None)
    with pytest.raises(ValueError, match="no chances"):
        hindcast_svg.reliability(replace(REPORT, leads=(bare,)), 1)
    for draw in (hindcast_svg.error_by_lead, hindcast_svg.calls_by_lead):
        with pytest.raises(ValueError, match="no lead"):
            draw(replace(REPORT, leads=()))
