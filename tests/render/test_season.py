"""The season page: shares that add up, words without a picture, safe names."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.stage import Stage
from forecaster.domain.season_page import LookMark, Ripeness, ripeness_shares
from forecaster.errors import NoWeatherError
from forecaster.render import season_svg, season_text
from forecaster.service.season_view import season_page

if TYPE_CHECKING:
    from forecaster.domain.season_page import SeasonPage
    from forecaster.service.farm_day import FarmDay

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def page(demo_day: FarmDay) -> SeasonPage:
    """Back Road of the demo, with a look marked."""
    paddock = next(each for each in demo_day.farm.paddocks if each.name == "Back Road")
    found = season_page(demo_day, paddock, demo=True)
    return replace(found, looks=(LookMark(np.datetime64("2026-10-11T01:00:00"), 100),))


def test_shares_are_those_of_the_curve() -> None:
    """Half at heading, one SD between the marks: scipy's normal between them."""
    past = np.array([stats.norm.cdf(-0.5 * at) for at, _ in enumerate(STAGES)])
    found = ripeness_shares(past)
    edges = [Stage.HEADING, Stage.WATERY, Stage.SOFT_DOUGH, Stage.HARD_DOUGH]
    z = [0.5 * STAGES.index(stage) for stage in edges]
    below = [1.0, *(stats.norm.sf(each) for each in z), 0.0]
    np.testing.assert_allclose(found, -np.diff(below), atol=1e-12)
    assert found.sum() == pytest.approx(1.0)


def test_the_season_runs_from_no_heads_to_all_hard(page: SeasonPage) -> None:
    """Shares sum to 1 on every day; from not out to hard, and never back."""
    np.testing.assert_allclose(page.shares.sum(axis=1), 1.0)
    assert page.shares[0, 0] > 0.9
    assert page.shares[-1, -1] > 0.5
    past = np.cumsum(page.shares[:, ::-1], axis=1)
    assert (np.diff(past, axis=0) >= -1e-9).all()
    assert (np.diff(page.noon) == np.timedelta64(1, "D")).all()


def test_text_says_what_happens_when(page: SeasonPage) -> None:
    """Today, the look and the windows stand at their days, in 80 columns."""
    text = season_text.render(page)
    assert max(map(len, text.splitlines())) <= 80
    (row,) = [line for line in text.splitlines() if "TODAY" in line]
    lines = text.splitlines()
    at = lines.index(row)
    row = next(line for line in reversed(lines[: at + 1]) if line[:6].strip())
    begins = int(row.split()[0])
    assert row.split()[1] == "Oct"
    assert begins <= 12 < begins + season_text.EVERY
    said = " ".join(text.split())
    assert "look, 100 heads" in said
    assert "glyphosate closes" in said
    assert "This is no label" in said
    for kind in Ripeness:
        assert kind.value in text


def test_the_drawing_is_whole_and_has_words(page: SeasonPage) -> None:
    """Well-formed, self-contained, with a text equivalent that carries the dates."""
    tree = ET.fromstring(season_svg.render(page))  # noqa: S314 - our own bytes
    assert tree.find(f"{SVG}title") is not None
    words = tree.findtext(f"{SVG}desc") or ""
    assert "glyphosate" in words
    assert "Oct" in words
    said = "".join(tree.itertext())
    assert "100 counted" in said
    assert "today" in said
    assert "good hours" in said
    width = float(tree.get("width", "0"))
    for each in tree.iter(f"{SVG}rect"):
        x, wide = (each.get(name, "0") for name in ("x", "width"))
        assert float(x) + float(wide) <= width + 0.1


@pytest.mark.parametrize("name", ["<b>&\"'", "a]]>b", "羊の牧場", "x" * 200])
def test_hostile_names_are_only_text(page: SeasonPage, name: str) -> None:
    """A paddock's name comes back as it was typed, never as markup."""
    hurt = replace(page, paddock=replace(page.paddock, name=name))
    tree = ET.fromstring(season_svg.render(hurt))  # noqa: S314 - our own bytes
    assert name in (tree.findtext(f"{SVG}title") or "")
    assert name[:20] in season_text.render(hurt).replace("\n", "")


def test_a_day_that_is_not_known_is_not_drawn(page: SeasonPage) -> None:
    """NaN shares say *not known* and leave a hole, no zero."""
    shares = page.shares.copy()
    shares[:30] = np.nan
    hurt = replace(page, shares=shares)
    assert "not known" in season_text.render(hurt)
    assert "NaN" not in season_svg.render(hurt).replace("nan", "NaN")
    none = replace(page, shares=np.full_like(shares, np.nan))
    assert "not known" in season_svg.render(none)


def test_without_a_break_there_is_no_page(demo_day: FarmDay) -> None:
    """One clear error instead of an empty picture."""
    begun = replace(demo_day.growth.begun, day=np.datetime64("NaT", "D"))
    growth = replace(demo_day.growth, begun=begun, _cache={}, _scouting=None)
    day = replace(demo_day, growth=growth)
    with pytest.raises(NoWeatherError, match="autumn_break"):
        season_page(day, day.farm.paddocks[0])
