"""Addresses that are secrets: in a file of their own, never shown.

``secrets.toml`` in the farm folder is a flat table, name = "address". Where the system
hands credentials over (``CREDENTIALS_DIRECTORY``), a file there of that name comes
first.
"""

from __future__ import annotations

import os
import stat
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

from forecaster.errors import SecretsError

FILE = "secrets.toml"
HANDED = "CREDENTIALS_DIRECTORY"
LARGEST = 64 * 1024
HIDDEN = "***"


class Secret:
    """A text that shows as ``***``; only who sends unwraps it."""

    __slots__ = ("_text",)

    def __init__(self, text: str) -> None:
        self._text = text

    def reveal(self) -> str:
        """The text itself."""
        return self._text

    def __repr__(self) -> str:
        return HIDDEN

    __str__ = __repr__

    def __format__(self, spec: str) -> str:
        return format(HIDDEN, spec)

    def __reduce__(self) -> NoReturn:
        raise TypeError("a secret is not written anywhere")


@dataclass(frozen=True, slots=True)
class Secrets:
    """The secrets of one farm, by name."""

    path: Path
    _known: dict[str, Secret] = field(repr=False)

    def of(self, name: str) -> Secret:
        """The secret of a name.

        Raises
        ------
        SecretsError
            If there is none.
        """
        handed = _handed(name)
        if handed is not None:
            return handed
        if name not in self._known:
            raise SecretsError(
                f"{self.path}: there is no {name!r} in it; add a line "
                f'{name} = "address of the channel"'
            )
        return self._known[name]

    @property
    def words(self) -> tuple[str, ...]:
        """Every secret in the clear, to take out of what others say."""
        return tuple(each.reveal() for each in self._known.values())


def read_secrets(folder: Path) -> Secrets:
    """The secrets beside a farm file; none where there is no such file.

    Raises
    ------
    SecretsError
        If others may read it, or it is no flat table of texts.
    """
    path = folder / FILE
    if not path.exists():
        return Secrets(path, {})
    _closed(path)
    return Secrets(path, {name: Secret(text) for name, text in _table(path).items()})


def _handed(name: str) -> Secret | None:
    folder = os.environ.get(HANDED)
    if not folder:
        return None
    path = Path(folder) / name
    if not path.is_file():
        return None
    return Secret(path.read_text(encoding="utf-8").strip())


def _closed(path: Path) -> None:
    """Refuse a file that others may read; Windows keeps its own lists of readers."""
    if os.name != "posix":
        return
    if path.is_symlink():
        raise SecretsError(f"{path}: is a link; put the file itself here")
    found = path.stat()
    if found.st_uid != os.getuid():
        raise SecretsError(f"{path}: belongs to another user; make it your own")
    if stat.S_IMODE(found.st_mode) & 0o077:
        raise SecretsError(
            f"{path}: others may read it (mode {stat.S_IMODE(found.st_mode):04o}); "
            f'close it: chmod 600 "{path}"'
        )


def _table(path: Path) -> dict[str, str]:
    """The table; a fault says where, never what stands there."""
    why = ""
    table: dict[str, object] = {}
    try:
        content = path.read_bytes()
        if len(content) > LARGEST:
            why = f"larger than {LARGEST:,} bytes"
        else:
            table = tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        why = "not UTF-8 text"
    except tomllib.TOMLDecodeError as error:
        why = str(error).split(":")[0]
    except OSError as error:
        why = error.strerror or type(error).__name__
    wrong = [name for name, text in table.items() if not isinstance(text, str)]
    if wrong:
        why = f"{', '.join(wrong)}: a text in quotes is allowed, nothing else"
    if why:
        raise SecretsError(
            f"{path}: cannot be used ({why}); lines are of the form "
            'phone = "address of the channel"'
        )
    return {name: str(text) for name, text in table.items()}
