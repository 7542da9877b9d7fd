"""CSV for spreadsheets: RFC 4180, and no name is a formula."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pytest
from hostile_names import HOSTILE
from outlooks import named, with_paddock

from forecaster.render import table

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook


def rows(made: bytes) -> list[dict[str, str]]:
    """The table as the standard library reads it."""
    return list(csv.DictReader(io.StringIO(made.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＠"])
def test_what_would_run_gets_an_apostrophe(start: str) -> None:
    """The characters of OWASP's page on CSV injection; the wide ones from memory."""
    assert table.safe(f"{start}1+1") == f"'{start}1+1"
    assert table.safe(f" {start}1+1") == f"' {start}1+1"
    assert table.safe(f"1{start}1") == f"1{start}1"
    assert table.safe("") == ""


def test_texts_are_quoted_and_numbers_are_not(demo: Outlook) -> None:
    """Also a number below nought, which begins like a formula."""
    made = table.table(("a", "b", "c", "d"), [["x", -1.5, None, float("nan")]])
    assert made == b'\xef\xbb\xbf"a","b","c","d"\r\n"x",-1.5,"",""\r\n'
    assert b',34.0,"Silver grass"' in table.render(demo)


def test_one_row_for_each_paddock_and_active(demo: Outlook) -> None:
    """In the order of the farm file, every column there."""
    found = rows(table.render(demo))
    assert [(each["paddock"], each["active"]) for each in found] == [
        (each.name, active.active) for each in demo.paddocks for active in each.actives
    ]
    assert all(None not in each and None not in each.values() for each in found)
    road = next(each for each in found if each["paddock"] == "Back Road")
    assert road["next_good_start"] == "2026-10-14T12:00:00+11:00"
    assert road["status"] == "closing"
    assert road["look_date"] == "2026-10-11"
    assert "invented" in road["read_first"]


def test_a_paddock_that_fails_has_a_row(demo: Outlook) -> None:
    """Unknown, with its reason; never missing."""
    (found,) = rows(table.render(with_paddock(demo, fault="broke", actives=())))
    assert found["status"] == "unknown"
    assert found["next_step"] == "unknown: broke"
    assert found["active"] == ""


def test_forty_hostile_names_come_back_equal(demo: Outlook) -> None:
    """But for the apostrophe in front of those a spreadsheet might run."""
    made = named(demo, HOSTILE)
    found = rows(table.render(made))
    shown = [each["paddock"] for each in found[::2]]
    assert [each["paddock"] for each in found[1::2]] == shown
    for name, cell in zip(HOSTILE, shown, strict=True):
        runs = name.strip()[0] in "=+-@＝＋＠"
        assert cell == (f"'{name}" if runs else name)
        assert cell.strip()[0] not in "=+-@\t\r\n＝＋－＠"
    assert {each["farm"] for each in found} == {made.farm}
