"""What the tests of commands share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def no_farm_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The test runs in an empty folder, so that the demo farm is the default."""
    monkeypatch.chdir(tmp_path)
