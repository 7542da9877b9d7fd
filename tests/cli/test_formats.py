"""``outlook --format`` and ``--farms`` as a user runs them."""

from __future__ import annotations

import csv
import html.parser
import io
import json
import shutil
from typing import TYPE_CHECKING, Any

import pytest
from hostile_names import HOSTILE
from icalendar import Calendar
from markdown_it import MarkdownIt

from forecaster.cli.formats import FARMS, farms_as
from forecaster.cli.main import exit_code
from forecaster.service.farms import all_farms
from forecaster.service.new_farm import quoted
from forecaster.service.wiring import farm_day
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")


def refused(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """What is said of a wrong command line."""
    assert exit_code(list(map(str, arguments))) in {64, 66}
    out, err = capsys.readouterr()
    assert out == ""
    return err


@pytest.mark.parametrize("form", ["ics", "csv", "sms", "md"])
def test_the_screen_and_a_file_get_the_same_bytes(
    form: str, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    """Line ends and all; ``--out`` writes it whole."""
    assert exit_code(["outlook", "--format", form]) == 0
    printed = capfdbinary.readouterr().out
    path = tmp_path / f"page.{form}"
    assert exit_code(["outlook", "--format", form, "--out", str(path)]) == 0
    assert path.read_bytes() == printed
    assert b"\r\r" not in printed
    assert (b"\r\n" in printed) == (form in {"ics", "csv"})


def farm(folder: Path, name: str, *, demo_weather: bool = True) -> Path:
    """A copy of the demo farm under another name."""
    shutil.copytree(demo_folder(), folder)
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    assert 'name = "Thornbill Rise"' in text
    text = text.replace('name = "Thornbill Rise"', f"name = {quoted(name)}", 1)
    if not demo_weather:
        (folder / "hours.csv").unlink()
    path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def many(tmp_path: Path) -> Path:
    """Two farms that can be told, one without weather, one whose file is empty."""
    folder = tmp_path / "farms"
    folder.mkdir()
    farm(folder / "alpha", HOSTILE[0])
    farm(folder / "beta", "Two Gums")
    farm(folder / "dry", "Dry Creek", demo_weather=False)
    (folder / "empty").mkdir()
    (folder / "empty" / "farm.toml").write_text("", encoding="utf-8")
    (folder / "notes").mkdir()
    return folder


class Cells(html.parser.HTMLParser):
    """The words of each cell, and every element there is."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: set[str] = set()
        self.scopes: set[str | None] = set()
        self.cells: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the element; begin a cell."""
        self.elements.add(tag)
        assert not {name for name, _ in attrs} & {"src", "href", "onerror", "onload"}
        if tag == "th":
            self.scopes.add(dict(attrs).get("scope"))
        if tag in {"td", "th"}:
            self.words = ""

    def handle_endtag(self, tag: str) -> None:
        """End a cell."""
        if tag in {"td", "th"}:
            self.cells.append(self.words)

    def handle_data(self, data: str) -> None:
        """Words, wherever they stand."""
        self.words += data


def test_a_farm_without_data_is_at_the_top_in_every_form(many: Path) -> None:
    """Never missing; the others are told all the same."""
    value = all_farms(many)
    for form in FARMS:
        made = farms_as(form, value)
        printed = made if isinstance(made, str) else made.decode("utf-8")
        first = printed.index("Back Road")
        for name in ("dry", "empty"):
            assert 0 <= printed.index(name) < first, (form, name)
        assert "Two Gums" in printed


def test_the_list_as_text_fits_a_screen(
    many: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eighty columns, the closing paddock of 55 ha first."""
    assert exit_code(["outlook", "--farms", str(many)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    head = next(i for i, line in enumerate(lines) if line.startswith("farm "))
    assert "Back Road" in lines[head + 1]
    assert lines[head + 1].endswith("Wed 12:00-18:00")
    assert lines[-1].startswith("Good hours are by forecast. Check wind and smoke")


def test_the_list_as_page_is_a_table_without_a_script(
    many: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is fetched, names are text, every head cell has its scope."""
    command = ["outlook", "--farms", str(many), "--format", "html"]
    assert exit_code(command) == 0
    cells = Cells()
    cells.feed(capsys.readouterr().out)
    assert not cells.elements & {"script", "link", "img", "iframe", "object", "b"}
    assert {"caption", "table", "thead"} <= cells.elements
    assert cells.scopes == {"col", "row"}
    assert HOSTILE[0] in cells.cells


def test_the_list_as_json_holds_each_farm_whole(
    many: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its rows are in order, and each farm's outlook is as ever."""
    command = ["outlook", "--farms", str(many), "--format", "json"]
    assert exit_code(command) == 0
    tree = json.loads(capsys.readouterr().out)
    assert [each["farm"] for each in tree["faults"]] == ["dry", "empty"]
    assert {each["farm"] for each in tree["farms"]} == {HOSTILE[0], "Two Gums"}
    pressures = [row["hectares_a_day"] for row in tree["rows"]]
    assert pressures == sorted(pressures, reverse=True)


def test_what_does_not_go_together_is_refused(
    many: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With what is allowed, or what to name instead."""
    told = refused(capsys, "outlook", "--farms", many, "--farm", many / "beta")
    assert "does not go with --farms" in told
    told = refused(capsys, "outlook", "--farms", many, "--format", "ics")
    assert "allowed is text or json or csv or html or md" in told
    told = refused(capsys, "outlook", "--farms", tmp_path / "nowhere")
    assert "cannot be read" in told
    told = refused(capsys, "outlook", "--farms", many / "notes")
    assert "no folder in it holds a farm.toml" in told


def test_forty_names_through_the_whole_program(
    tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    """From a farm file to each format and back: equal, and nothing else."""
    folder = farm(tmp_path / "farms" / "hostile", HOSTILE[1])
    path = folder / "farm.toml"
    head, _, _ = path.read_text(encoding="utf-8").partition("[[paddock]]")
    paddocks = [
        f"[[paddock]]\nname = {quoted(name)}\nhectares = 20\nnothing_near = true\n"
        "weeds = { silver_grass = 30 }\nactives = ['glyphosate']\n"
        for name in HOSTILE
    ]
    head = head.replace('map = "paddocks.geojson"\n', "")
    path.write_text(head + "\n".join(paddocks), encoding="utf-8")
    (folder / "looks.jsonl").unlink()
    assert [each.name for each in load_farm(folder).paddocks] == list(HOSTILE)

    def made(*arguments: str) -> str:
        assert exit_code(["outlook", *arguments]) == 0
        return capfdbinary.readouterr().out.decode("utf-8-sig")

    one = ("--farm", str(folder), "--format")
    events = Calendar.from_ical(made(*one, "ics")).walk("VEVENT")
    shown = {str(each["summary"]) for each in events}
    assert {f"{name}: count heads" for name in HOSTILE} <= shown
    _, *table = csv.reader(io.StringIO(made(*one, "csv"), newline=""))
    for name, row in zip(HOSTILE, table, strict=True):
        assert row[1] in {name, f"'{name}"}
        assert row[1].strip()[0] not in "=+-@＝＋＠"
    cells = Cells()
    cells.feed(made("--farms", str(folder.parent), "--format", "html"))
    assert set(HOSTILE) <= set(cells.cells)
    assert cells.cells.count(HOSTILE[1]) == len(HOSTILE) + 1
    tokens = (
        MarkdownIt("commonmark")
        .enable("table")
        .parse(made("--farms", str(folder.parent), "--format", "md"))
    )
    words = {token.content for token in tokens if token.type == "inline"}
    kinds = {child.type for token in tokens for child in token.children or ()}
    assert words
    assert kinds <= {"text", "text_special", "strong_open", "strong_close", "softbreak"}


def test_a_fault_of_the_program_hides_no_other_farm(
    many: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One farm that trips over a bug is told as such; the rest stand."""

    def trips(folder: Path, *rest: Any, **more: Any) -> Any:
        if folder.name == "beta":
            raise ZeroDivisionError("oh\nno")
        return farm_day(folder, *rest, **more)

    monkeypatch.setattr("forecaster.service.farms.farm_day", trips)
    value = all_farms(many)
    reasons = {each.farm: each.reason for each in value.faults}
    assert set(reasons) == {"beta", "dry", "empty"}
    assert reasons["beta"] == "a fault of the program: ZeroDivisionError: oh; no"
    assert [each.farm for each in value.farms] == [HOSTILE[0]]
