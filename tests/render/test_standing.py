"""Words that small pages share, and notes to neighbours, at their edges."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from outlooks import paddock, with_paddock

from forecaster.domain.farms import FarmFault, farms_outlook
from forecaster.domain.notice import Notice
from forecaster.domain.outlook import Arc, NearView
from forecaster.render import farms, neighbour, pages, table
from forecaster.render.standing import barred_words, invented_words

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook


@pytest.mark.parametrize(
    ("arcs", "words"),
    [
        (None, "not known"),
        ((), "none"),
        ((Arc(0, 359),), "any"),
        ((Arc(350, 10),), "N"),
        ((Arc(315, 45), Arc(180, 182)), "NW to NE, S"),
    ],
)
def test_barred_sides_in_words(
    demo: Outlook, arcs: tuple[Arc, ...] | None, words: str
) -> None:
    """On a compass of 16; what nobody has said is never *none*."""
    assert barred_words(replace(paddock(demo), barred_wind=arcs)) == words


def test_what_is_invented_is_said(demo: Outlook) -> None:
    """Farm, weather, both or neither."""
    real = replace(demo.weather, invented=False)
    assert "weather are invented" in invented_words(demo.weather, demo=True)
    assert "another place" in invented_words(real, demo=True)
    assert "do not spray" in invented_words(demo.weather, demo=False)
    assert invented_words(real, demo=False) == ""


def note(demo: Outlook, wind: float, near: NearView | None) -> str:
    """The note about Back Road's block with another wind."""
    place = paddock(demo)
    block = replace(place.actives[0].blocks[0], wind_from=wind)
    return neighbour.text(Notice(demo, place, place.actives[0], block, near))


def test_a_note_never_guesses_a_side(demo: Outlook) -> None:
    """A wind of no known side, a neighbour who touches the paddock."""
    calm = note(demo, float("nan"), None)
    assert "Which way the wind will blow is not known yet." in calm
    touching = NearView("Dam", "dam", 100.0, 0.0, float("nan"))
    told = note(demo, 225.0, touching)
    assert "Your place touches the paddock. It will not be done while" in told
    assert "that is from" not in told
    place = paddock(demo)
    with pytest.raises(ValueError, match="planned block"):
        neighbour.text(Notice(demo, place, place.actives[0], None))


def test_a_list_of_what_cannot_be_told(demo: Outlook) -> None:
    """A paddock that failed, old weather and a lost farm, in every form."""
    broken = with_paddock(demo, fault="<i>broke</i>", actives=())
    aged = replace(broken, weather=replace(demo.weather, age_hours=31.0))
    value = farms_outlook((aged,), (FarmFault("lost", "no \x1b[31mweather"),))
    text = farms.text(value)
    assert "\x1b" not in text
    assert text.index("NO DATA: lost") < text.index("OLD WEATHER: Thornbill Rise: 31 h")
    assert "unknown: <i>bro" in text
    assert "&lt;i&gt;broke&lt;/i&gt;" in pages.farms(value)
    assert "unknown" in farms.md(value)
    assert b"unknown: <i>broke</i>" in farms.csv(value)
    assert farms.tree(value)["rows"][0]["fault"] == "<i>broke</i>"
    assert farms.tree(value)["rows"][0]["block"] is None


def test_a_row_without_a_window_has_empty_dates(demo: Outlook) -> None:
    """Unknown is an empty cell, never a date."""
    first = replace(paddock(demo).actives[0], window=None, days_to_close=None)
    made = table.render(with_paddock(demo, actives=(first,))).decode("utf-8-sig")
    assert '"closing","","","","","","","",' in made
