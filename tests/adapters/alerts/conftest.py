"""A farm of one's own, whose state a test writes."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from written import Writer

from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def own(tmp_path: Path) -> Writer:
    """A farm of one's own: a copy of the demo, with no check yet."""
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    return Writer(folder)
