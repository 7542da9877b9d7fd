"""Where the files that ship with the program are."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def config_folder() -> Path:
    """``config/``: inside an installed package, or beside it in a checkout."""
    inside = _PACKAGE / "config"
    return inside if inside.is_dir() else _PACKAGE.parent / "config"


def demo_folder() -> Path:
    """The invented demo farm."""
    return config_folder() / "demo"
