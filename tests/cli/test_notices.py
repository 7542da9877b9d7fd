"""Gate signs and notes to neighbours as a user asks for them."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest
from hostile_names import HOSTILE
from own_farm import demo_copy

from forecaster.cli.main import exit_code
from forecaster.errors import UsageError
from forecaster.service import notice as notices
from forecaster.service.daily import outlook

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.service.farm_day import FarmDay

pytestmark = pytest.mark.usefixtures("no_farm_here")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(list(arguments)) == 0
    return capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What is said of a block that is not there."""
    assert exit_code(list(arguments)) == 64
    out, err = capsys.readouterr()
    assert out == ""
    return err


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> str:
    """The demo farm with parts of its file changed."""
    return str(demo_copy(tmp_path / "farm", *pairs))


SPRAYED = (
    'target = "silver_grass"\n',
    'target = "silver_grass"\nsprayed = 2026-10-10\n',
)


def test_a_sign_says_when_stock_may_come_back(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Planned for the 14th, 7 days typed: not before the 22nd, a Thursday."""
    told = run(capsys, "sign", "Back Road", "--format", "text")
    for words in (
        "Thornbill Rise", "Back Road", "Silver grass, glyphosate",
        "To be sprayed: planned Wed 14 Oct 12:00-18:00, if the day is fit",
        "Stock not before Thu 22 Oct 2026", "typed from your label",
        "if it is sprayed on another day, count again", "Keep out", "Ask: ...",
    ):  # fmt: skip
        assert words in " ".join(told.split()), words


def test_without_a_typed_number_a_sign_sends_to_the_label(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The demo typed none for paraquat; "not on label" gives no date either."""
    told = run(capsys, "sign", "Woolshed", "--format", "text")
    assert "Stock: read the label" in told
    assert "no number of days was typed" in told
    assert "not before" not in told
    typed = (
        "grazing_withholding_days = 7",
        'grazing_withholding_days = "not on label"',
    )
    farm = changed(tmp_path, typed)
    told = run(capsys, "sign", "Back Road", "--format", "text", "--farm", farm)
    assert "no grazing days on it, as typed" in told
    assert "not before" not in told


def test_the_page_is_one_of_a5_and_fetches_nothing(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Names are text, whatever they hold."""
    name = HOSTILE[1]
    old = 'name = "Back Road"'
    farm = changed(
        tmp_path,
        (old, f"name = '{name}'\nnothing_near = true"),
        ('map = "paddocks.geojson"', ""),
    )
    told = run(capsys, "sign", name, "--farm", farm)
    assert "size: A5" in told
    seen: list[str] = []
    elements: set[str] = set()

    class Reader(HTMLParser):
        def handle_starttag(
            self, tag: str, attrs: list[tuple[str, str | None]]
        ) -> None:
            elements.add(tag)
            assert not {key for key, _ in attrs} & {"src", "href"}

        def handle_data(self, data: str) -> None:
            seen.append(data)

    Reader().feed(told)
    assert name in seen
    assert not elements & {"script", "img", "link"}


def test_a_sign_for_a_sprayed_paddock(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Sprayed on the 10th: the 18th, a Sunday; with what must be said."""
    farm = ("--farm", changed(tmp_path, SPRAYED))
    told = run(
        capsys, "sign", "Back Road", "--active", "glyphosate", "--format", "text", *farm
    )
    assert "Sprayed: Sat 10 Oct 2026" in told
    assert "Stock not before Sun 18 Oct 2026" in told
    assert "Finished" not in told
    said = refused(capsys, "sign", "Back Road", *farm)
    assert "say with what: --active glyphosate or paraquat" in said
    said = refused(capsys, "sign", "Back Road", "--block", "1", *farm)
    assert "take --block away" in said
    said = refused(capsys, "neighbour", "Back Road", *farm)
    assert "is marked sprayed on 2026-10-10 already" in said


def test_toxic_ryegrass_is_told_where_a_day_for_stock_stands(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Days of the label that are over do not make sprayed ryegrass safe.

    It may stay toxic (common practice, no source).
    """
    toxic = 'name = "Lone Gum"', 'name = "Lone Gum"\nryegrass_toxicity = true'
    said = "annual ryegrass toxicity: ask before stock go in"
    farm = ("--farm", changed(tmp_path, toxic))
    job = ("Lone Gum", "glyphosate", "2026-10-05T12:00", "17:00", "withholding_days=1")
    run(capsys, "record", *job, *farm)
    told = run(capsys, "sign", "Lone Gum", "--format", "text", *farm)
    assert said in " ".join(told.split())
    told = run(capsys, "outlook", "--format", "ics", *farm)
    event = told.replace("\r\n ", "").replace("\n ", "")
    assert said in event.casefold()
    assert said not in run(capsys, "sign", "Back Road", "--format", "text", *farm)


def test_a_block_is_named_by_number_or_start(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """In any case; what is not there is refused with what is."""
    by_start = ("--block", "wed  14 oct 12:00")
    second = run(capsys, "sign", "Woolshed", "--block", "2", "--format", "text")
    assert second == run(capsys, "sign", "Woolshed", *by_start, "--format", "text")
    assert "Wed 14 Oct 12:00-18:00" in second
    said = refused(capsys, "sign", "Woolshed", "--block", "Sun 18 Oct 09:00")
    assert "1. Mon 12 Oct 09:00-18:00; 2. Wed 14 Oct 12:00-18:00" in said


def test_no_sign_where_nothing_is_planned(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Uneven heads, an active the paddock has not, or no such paddock."""
    said = refused(capsys, "sign", "Top Dam")
    assert "no block is planned in Top Dam (glyphosate: uneven" in said
    said = refused(capsys, "sign", "Woolshed", "--active", "glyphosate")
    assert "Woolshed has paraquat" in said
    assert "did you mean" in refused(capsys, "neighbour", "Bak Road")


def test_a_note_says_wind_side_and_no_promise(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The canola lies 90 m south: not with wind from the north."""
    told = run(capsys, "neighbour", "Back Road", "--near", "NEIGHBOUR'S canola")
    for words in (
        "To: Neighbour's canola", "glyphosate", "Wed 14 Oct 12:00-18:00 (AEDT)",
        "expected from SW, 15 to 16 km/h at 10 m, so towards NE",
        "about 90 m S of it", "will not be done while the wind blows towards you",
        "from about N", "a plan, not a promise", "7 in 10", "please ring ....",
    ):  # fmt: skip
        assert words in told, words
    bare = run(capsys, "neighbour", "Back Road")
    assert "canola" not in bare
    assert bare.splitlines()[1] == "Hello,"
    said = refused(capsys, "neighbour", "Back Road", "--near", "Vineyard")
    assert "near Back Road lies The creek, Neighbour's canola" in said
    assert "lies nothing" in refused(capsys, "neighbour", "Woolshed", "--near", "x")


def test_no_sign_for_a_paddock_that_cannot_be_told(demo_day: FarmDay) -> None:
    """Its fault is the reason."""
    whole = outlook(demo_day)
    first = replace(whole.paddocks[0], fault="broke", actives=())
    broken = replace(whole, paddocks=(first,))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(notices, "outlook", lambda *_, **__: broken)
        with pytest.raises(UsageError, match="Creek Flat cannot be told: broke"):
            notices.notice(demo_day, "creek flat", None, None)
