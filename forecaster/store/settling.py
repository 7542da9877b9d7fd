"""New names in a folder that last through a power cut."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def settle(folder: Path) -> None:
    """Make new names last through a power cut, where the system can."""
    with suppress(OSError):  # Windows opens no folders
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
