"""How this very program is started anew."""

from __future__ import annotations

import sys
from pathlib import Path

from forecaster.errors import InputMissingError, UsageError
from forecaster.settings.farm import FARM_FILE


def own_command() -> tuple[str, ...]:
    """Words that start this program with the Python it runs on.

    ``-P`` keeps a folder that happens to be called like us from being taken for us.
    """
    return (sys.executable, "-P", "-m", "forecaster")


def own_farm(folder: Path | None, what: str) -> Path:
    """The full path of a farm's folder; never the demo's.

    ``what`` is the command that needs it.

    Raises
    ------
    InputMissingError
        If there is no farm in it.
    UsageError
        If none is named and this folder holds none.
    """
    if folder is None and not Path(FARM_FILE).is_file():
        raise UsageError(
            f"forecaster {what} needs a farm of your own; name its folder with --farm"
        )
    path = folder or Path()
    file = path / FARM_FILE if path.is_dir() or not path.suffix else path
    if not file.is_file():
        raise InputMissingError(
            f"{file}: no such file; check the name, or make a farm folder with "
            "'forecaster init DIR'"
        )
    return file.parent.resolve()
