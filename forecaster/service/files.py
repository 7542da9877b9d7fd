"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from forecaster.errors import OutputError


def write_whole(
    path: Path,
    content: str | bytes,
    *,
    encoding: str = "utf-8",
    option: str = "--out",
) -> None:
    """Write text or bytes to a neighbour of ``path`` and move it into place.

    ``option`` is what the user named the place with. What is no ordinary file, such
    as a pipe or ``/dev/null``, is written straight to.

    Raises
    ------
    OutputError
        If that fails; an older file is then still whole.
    """
    data = content.encode(encoding) if isinstance(content, str) else content
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(data)
        else:
            _replace(path, data)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror}); choose another place with "
            f"{option}"
        ) from None


def _replace(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(_mode(path))
        temporary.replace(path)
    finally:  # after a success it has moved
        temporary.unlink(missing_ok=True)


def _mode(path: Path) -> int:
    """Permissions of the older file, or those any new file gets."""
    if path.is_file():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
