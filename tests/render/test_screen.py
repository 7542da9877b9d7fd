"""Text on a terminal and off it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from forecaster.render import screen
from forecaster.render.text import Line

if TYPE_CHECKING:
    import pytest

LINES = [Line("Creek Flat [34 ha]", heading=True), Line("body")]


def test_piped_output_is_plain(capsys: pytest.CaptureFixture[str]) -> None:
    """No codes; square brackets stay text."""
    screen.show(LINES)
    assert capsys.readouterr().out == "Creek Flat [34 ha]\nbody\n"


def test_a_terminal_gets_bold_headings(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same words, headings in bold and nothing else coloured."""
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.delenv("NO_COLOR", raising=False)
    screen.show(LINES)
    printed = capsys.readouterr().out
    assert printed == "\x1b[1mCreek Flat [34 ha]\x1b[0m\nbody\n"
