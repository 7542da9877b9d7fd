"""A farm folder from a pack: all of it, or nothing."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path

from forecaster.errors import DataError, OutputError
from forecaster.service.pack_tables import HISTORY as TABLES
from forecaster.service.pack_tables import csv_rows
from forecaster.settings.farm import FARM_FILE
from forecaster.store.pack_names import FARM, HISTORY, VIEWS
from forecaster.store.pack_zip import unpacked

_FOLDER_MODE = 0o777
"""As any new folder; the system's mask takes away what it does not allow."""


def unpack(path: Path, folder: Path) -> tuple[str, ...]:
    """Make ``folder`` from a pack; gives the names of its files.

    The folder is filled under another name beside its place and moved there whole.

    Raises
    ------
    InputMissingError, DataError
        If the pack cannot be read or trusted.
    OutputError
        If the folder holds anything already, or cannot be made.
    """
    _check_free(folder)
    files = _wanted(path, unpacked(path))
    why = ""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        scratch = Path(
            tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name[:60]}.")
        )
        try:
            _fill(scratch, files)
            _move(scratch, folder)
        finally:  # after a success it has moved
            shutil.rmtree(scratch, ignore_errors=True)
    except OSError as error:
        why = error.strerror or type(error).__name__
    if why:
        raise OutputError(f"{folder}: cannot be made ({why}); name another folder")
    return tuple(sorted(files))


def _check_free(folder: Path) -> None:
    try:
        taken = folder.is_symlink() or (
            folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
        )
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be looked into ({error.strerror}); name another folder"
        ) from None
    if taken:
        raise OutputError(
            f"{folder}: is there already and not an empty folder; it is left as it is. "
            "Name a new one"
        )


def _wanted(path: Path, files: dict[str, bytes]) -> dict[str, bytes]:
    """Files by their name in the new folder; views are made anew, not unpacked."""
    found: dict[str, bytes] = {}
    for name, content in files.items():
        top, _, rest = name.partition("/")
        if top == VIEWS:
            continue
        if top == HISTORY:
            table = rest.removesuffix(".csv")
            if table not in TABLES or rest == table:
                raise DataError(
                    f"{path}: {name} is no table of the history; nothing was unpacked"
                )
            csv_rows(f"{path}, {name}", content, TABLES[table])
        found[rest if top == FARM else name] = content
    if FARM_FILE not in found:
        raise DataError(f"{path}: holds no {FARM}/{FARM_FILE}; nothing was unpacked")
    return found


def _fill(folder: Path, files: dict[str, bytes]) -> None:
    for name, content in files.items():
        target = folder.joinpath(*name.split("/"))
        target.parent.mkdir(parents=True, exist_ok=True)
        with target.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())


def _move(scratch: Path, folder: Path) -> None:
    """Into place whole; an empty folder there gives way, for some systems want it."""
    mask = os.umask(0)
    os.umask(mask)
    scratch.chmod(_FOLDER_MODE & ~mask)
    was_there = folder.exists()
    if was_there:
        folder.rmdir()
    try:
        scratch.rename(folder)
    except OSError:
        if was_there:
            with suppress(OSError):
                folder.mkdir()
        raise
