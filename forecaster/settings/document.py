"""A TOML file, its values, and what to say when they are wrong.

Every fault of a file is reported at once, each as ``file:line:column``.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from forecaster.errors import Fault, InputMissingError, SettingsError
from forecaster.settings import toml_positions

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic_core import ErrorDetails

LARGEST_FILE = 4 * 1024 * 1024
"""Bytes; a settings file larger than this is not one."""

M = TypeVar("M", bound=BaseModel)

Number: TypeAlias = Annotated[float, Field(strict=True)]
"""A TOML number; words in quotes and true/false are not numbers."""
Flag: TypeAlias = Annotated[bool, Field(strict=True)]
"""true or false, not 0, 1 or "yes"."""


class Strict(BaseModel):
    """Base of every settings model: unknown keys are faults, values never change."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


@dataclass(frozen=True)
class Document:
    """A parsed TOML file that still knows where everything stood."""

    path: Path
    text: str
    data: dict[str, Any]

    @cached_property
    def _positions(self) -> dict[toml_positions.Path, toml_positions.Position]:
        return toml_positions.positions(self.text)

    def position(self, path: toml_positions.Path) -> toml_positions.Position:
        """Line and column of ``path``, or of the nearest table around it."""
        while path and path not in self._positions:
            path = path[:-1]
        return self._positions.get(path, (1, 1))

    def fault(self, path: toml_positions.Path, message: str) -> Fault:
        """A fault at ``path`` of this file."""
        line, column = self.position(path)
        return Fault(str(self.path), line, column, message)


def read_text(path: Path) -> str:
    """The text of a settings file; a UTF-8 byte-order mark is dropped.

    Raises
    ------
    InputMissingError
        If there is no such file or it cannot be read.
    SettingsError
        If it is too large or not UTF-8.
    """
    try:
        if path.is_dir():
            raise InputMissingError(f"{path}: is a folder; name the file inside it")
        if path.stat().st_size > LARGEST_FILE:
            raise SettingsError(
                [Fault(str(path), 0, 0, "larger than 4 MiB; not a settings file")]
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        raise InputMissingError(
            f"{path}: no such file; check the name, or make a farm folder with "
            "'forecaster init DIR'"
        ) from None
    except OSError as error:
        raise InputMissingError(f"{path}: cannot be read ({error.strerror})") from None
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise SettingsError(
            [Fault(str(path), 1, 1, "is UTF-16; save the file as UTF-8")]
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        message = f"byte {error.start} is not UTF-8; save the file as UTF-8"
        line = raw[: error.start].count(b"\n") + 1
        raise SettingsError([Fault(str(path), line, 1, message)]) from None


def read_document(path: Path) -> Document:
    """Parse one TOML file.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        If it is not TOML, with the line and column the parser stopped at.
    """
    text = read_text(path)
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError([_syntax_fault(path, text, error)]) from None
    return Document(path, text, data)


def validate(document: Document, model: type[M]) -> M:
    """The document as ``model``.

    Raises
    ------
    SettingsError
        With every fault of the file at once.
    """
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        raise SettingsError(faults_of(document, error)) from None


def faults_of(document: Document, error: ValidationError) -> list[Fault]:
    """Each problem pydantic found, in the words and at the place of the file."""
    keys = _known_keys()
    faults = [_fault(document, each, keys) for each in error.errors(include_url=False)]
    return sorted(set(faults), key=lambda fault: (fault.line, fault.column))


def _syntax_fault(path: Path, text: str, error: Exception) -> Fault:
    message = str(error)
    place = re.search(r"\(at line (\d+), column (\d+)\)", message)
    line, column = (int(place[1]), int(place[2])) if place else (0, 0)
    if place:
        message = message[: place.start()].strip()
    elif message.endswith("(at end of document)"):
        line = text.count("\n") + 1
        column = 1
    hint = _syntax_hint(text, line)
    return Fault(str(path), line, column, f"not TOML: {message}{hint}")


def _syntax_hint(text: str, line: int) -> str:
    lines = text.splitlines()
    found = lines[line - 1].strip() if 0 < line <= len(lines) else ""
    if re.match(r"^[\w-]+\s*=\s*[A-Za-z]", found):
        return f'; found "{found}"; words need quotes: name = "Home"'
    if "\u2212" in found:
        return "; found the long minus sign U+2212; type a plain hyphen -"
    return f'; found "{found}"' if found else ""


def _fault(document: Document, each: ErrorDetails, keys: set[str]) -> Fault:
    path = _file_path(document, each["loc"])
    kind = each["type"]
    name = ".".join(str(part) for part in path) or "the file"
    if kind == "missing":
        return document.fault(path[:-1], f"{name} is missing; add it here")
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(path[-1]), sorted(keys), n=1)
        hint = (
            f"; did you mean {near[0]}?"
            if near
            else "; remove it or check the spelling"
        )
        return document.fault(path, f"{name} is not a known key{hint}")
    message = each["msg"].removeprefix("Value error, ")
    message = message[:1].lower() + message[1:]
    return document.fault(path, f"{name} = {_shown(each['input'])}: {message}")


def _file_path(document: Document, loc: tuple[int | str, ...]) -> toml_positions.Path:
    """Drop the parts of a pydantic location that are not keys of the file."""
    path: toml_positions.Path = ()
    here: Any = document.data
    for number, part in enumerate(loc):
        last = number == len(loc) - 1
        if isinstance(here, dict) and (part in here or last):
            here = here.get(str(part))
        elif isinstance(here, list) and isinstance(part, int) and part < len(here):
            here = here[part]
        else:
            continue
        path = (*path, part)
    return path


def _shown(value: object, limit: int = 60) -> str:
    text = repr(value) if isinstance(value, str) else str(value)
    text = "".join(
        letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in text
    )
    return text if len(text) <= limit else text[: limit - 1] + "…"


def _known_keys() -> set[str]:
    """Names any model of this package accepts, for 'did you mean'."""
    names: set[str] = set()
    todo: list[type[BaseModel]] = [Strict]
    while todo:
        model = todo.pop()
        names |= set(model.model_fields)
        todo += model.__subclasses__()
    return names
