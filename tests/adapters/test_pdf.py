"""Pages as PDF: whole, dated, on the paper they say; and without a printer."""

from __future__ import annotations

import importlib.util
import io
import os
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from forecaster.cli.main import app
from forecaster.service import pdf

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

WANTED = bool(os.environ.get("FORECASTER_BROWSER"))
"""Set where a browser has to be there: then its absence is a failure."""
MOMENT = np.datetime64("2026-10-12T07:00:00", "s")
PAGE = "<!doctype html><title>t</title><style>@page{size:A5}</style><p>Creek Flat"
MM = 72 / 25.4

chromium = pytest.mark.skipif(
    not WANTED and not any(map(shutil.which, pdf.CHROMIUM)), reason="no Chromium"
)
weasyprint = pytest.mark.skipif(
    not WANTED and importlib.util.find_spec("weasyprint") is None,
    reason="no WeasyPrint",
)
ways = pytest.mark.parametrize(
    "way",
    [
        pytest.param(pdf.by_chromium, marks=chromium),
        pytest.param(pdf.by_weasyprint, marks=weasyprint),
    ],
)


@ways
def test_it_is_whole_and_on_the_paper_it_says(way: Callable[[str], bytes]) -> None:
    """ISO 216: A5 is 148 x 210 mm; another program reads the words back."""
    read = PdfReader(io.BytesIO(pdf.dated(way(PAGE), MOMENT)))
    (page,) = read.pages
    assert float(page.mediabox.width) == pytest.approx(148 * MM, abs=1)
    assert float(page.mediabox.height) == pytest.approx(210 * MM, abs=1)
    assert "Creek Flat" in page.extract_text()


@ways
def test_the_same_page_gives_the_same_bytes(way: Callable[[str], bytes]) -> None:
    """Whenever it is printed."""
    assert pdf.dated(way(PAGE), MOMENT) == pdf.dated(way(PAGE), MOMENT)


@chromium
@pytest.mark.parametrize(
    ("command", "most"),
    [
        (["outlook"], 1),
        (["outlook", "--plan"], 2),
        (["season", "Back Road"], 3),
        (["sign", "Back Road"], 1),
    ],
)
def test_the_demos_pages(tmp_path: Path, command: list[str], most: int) -> None:
    """Each command prints; the first sheet of the outlook holds every paddock."""
    out = tmp_path / "made.pdf"
    ran = CliRunner().invoke(app, [*command, "--format", "pdf", "--out", str(out)])
    assert ran.exit_code == 0, ran.output
    pages = PdfReader(out).pages
    assert len(pages) <= most
    words = " ".join(pages[0].extract_text().split())
    assert "Back Road" in words
    if command[0] == "outlook":
        for name in ("Lone Gum", "Top Dam", "House", "Creek Flat", "Woolshed"):
            assert name in words
        assert "no permit" in words


def test_dates_and_ids_become_the_pages_own() -> None:
    """Lengths stay: the table of places at the end of a PDF still holds."""
    made = (
        b"/CreationDate (D:20300101020304+00'00') /ID [<0123456789abcdef> "
        b"<fedcba9876543210>]"
    )
    again = pdf.dated(made, MOMENT)
    assert len(again) == len(made)
    assert b"D:20261012070000" in again
    assert again.count(b"<0000000000000000>") == 2


@pytest.mark.parametrize("said", [b"", b"%PDF-1.7 cut", b"<html>"])
def test_half_a_pdf_is_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, said: bytes
) -> None:
    """What a program left is looked at before it is called a PDF."""
    made = tmp_path / "page.pdf"
    made.write_bytes(said)
    monkeypatch.setattr(shutil, "which", lambda _: "chromium")
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: None)
    monkeypatch.setattr(pdf, "_printed", lambda _: made.read_bytes())
    with pytest.raises(pdf.NoPrinterError, match="no whole PDF"):
        pdf.by_chromium(PAGE)


def test_without_a_printer_the_page_is_left(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """One clear error says where the HTML is; no older file is lost."""
    monkeypatch.setenv(pdf.ELSEWHERE, "no-such-program")
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    out = tmp_path / "week.pdf"
    out.write_bytes(b"last week's")
    ran = CliRunner().invoke(app, ["outlook", "--format", "pdf", "--out", str(out)])
    assert ran.exit_code != 0
    assert out.read_bytes() == b"last week's"
    beside = tmp_path / "week.pdf.html"
    assert "Thornbill Rise" in beside.read_text(encoding="utf-8")
    for needed in ("no-such-program", "week.pdf.html", "forecaster[pdf]"):
        assert needed in str(ran.exception) + ran.output


def test_a_pdf_needs_a_file() -> None:
    """It is not poured over the screen."""
    ran = CliRunner().invoke(app, ["outlook", "--format", "pdf"])
    assert ran.exit_code != 0
    assert "--out FILE.pdf" in str(ran.exception) + ran.output


@chromium
def test_a_page_that_hangs_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """After a time nothing is coming."""
    monkeypatch.setattr(pdf, "SECONDS", 0.01)
    with pytest.raises(pdf.NoPrinterError, match="TimeoutExpired"):
        pdf.by_chromium(PAGE)
