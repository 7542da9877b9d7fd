"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from forecaster.errors import OutputError


def write_whole(path: Path, text: str) -> None:
    """Write ``text`` to a neighbour of ``path`` and move it into place.

    Raises
    ------
    OutputError
        If that fails; an older file is then still whole.
    """
    temporary: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        temporary = Path(name)
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise OutputError(
            f"{path}: cannot be written ({error.strerror}); choose another place with "
            "--out"
        ) from None
