"""The farm's files as they were when they could last be read.

An editor may have saved half of one when a check runs, or a typing error may stand for
days. The alerts go on with the last good ones for a day, and say so every day.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts.phases import hours
from forecaster.errors import (
    DataError,
    ForecasterError,
    InputMissingError,
    SettingsError,
)
from forecaster.service.files import write_whole
from forecaster.settings.farm import FARM_FILE, Farm, load_farm

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

FOLDER = "last-good"
SINCE = "since"
"""Holds when the files were first found wrong."""
USED_H = 24.0


@dataclass(frozen=True, slots=True)
class Files:
    """A farm, and what is wrong with its files if older ones are used."""

    farm: Farm
    trouble: str = ""
    code: int = 0
    too_old: bool = False
    """Whether they have been wrong for longer than a day."""


def read_files(folder: Path, state: Path, now: np.datetime64) -> Files:
    """The farm, of its own files or of the last good ones.

    Raises
    ------
    ForecasterError
        If neither can be read.
    """
    try:
        farm = load_farm(folder)
    except (SettingsError, DataError, InputMissingError) as error:
        return _instead(folder, state, now, error)
    _remember(farm, state)
    return Files(farm)


def _remember(farm: Farm, state: Path) -> None:
    """Keep a copy of what was read; one that cannot be kept stops nothing."""
    kept = state / FOLDER
    with suppress(OSError, UnicodeError, ForecasterError):
        for each in (state, kept):
            each.mkdir(mode=0o700, exist_ok=True)
        for name in _names(farm):
            new = (farm.folder / name).read_bytes()
            target = kept / name
            if not target.exists() or target.read_bytes() != new:
                target.parent.mkdir(parents=True, exist_ok=True)
                write_whole(target, new.decode())
        (kept / SINCE).unlink(missing_ok=True)


def _names(farm: Farm) -> list[str]:
    typed = [FARM_FILE, farm.map_file, farm.weather.errors]
    return [name for name in typed if name]


def _instead(
    folder: Path, state: Path, now: np.datetime64, error: ForecasterError
) -> Files:
    kept = state / FOLDER
    if not (kept / FARM_FILE).exists():
        raise error
    with suppress(ForecasterError):
        farm = replace(load_farm(kept), folder=folder)
        since = _since(kept, now)
        words = " ".join(str(error).split())
        old = bool(now - since > hours(USED_H))
        return Files(farm, words, error.exit_code, too_old=old)
    raise error


def _since(kept: Path, now: np.datetime64) -> np.datetime64:
    path = kept / SINCE
    with suppress(OSError, ValueError):
        return type(now)(path.read_text().strip(), "s")
    with suppress(OSError):
        path.write_text(str(now.astype("datetime64[s]")))
    return now
