"""A farm of one's own to try things on: the demo, changed."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path


def demo_copy(folder: Path, *pairs: tuple[str, str]) -> Path:
    """A copy of the demo farm in a new ``folder`` with parts of its file changed."""
    shutil.copytree(demo_folder(), folder)
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, encoding="utf-8")
    return folder
