"""A command run to its end, and what it printed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from forecaster.cli.main import exit_code

if TYPE_CHECKING:
    import pytest


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed."""
    assert exit_code(list(arguments)) == 0
    return capsys.readouterr().out


def tree(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    """Its JSON."""
    return json.loads(run(capsys, *arguments, "--format", "json"))


def flat(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Its text without line ends."""
    return " ".join(run(capsys, *arguments).split())
