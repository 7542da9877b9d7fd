"""A TOML file, its values, and what to say when they are wrong.

Every fault of a file is reported at once, each as ``file:line:column``.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias, TypeVar

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
)

from forecaster.errors import Fault, InputMissingError, SettingsError
from forecaster.settings import toml_positions
from forecaster.settings.fault_words import faults_of
from forecaster.settings.names import text_fault
from forecaster.settings.toml_syntax import syntax_fault

if TYPE_CHECKING:
    from pathlib import Path


def _line_of_text(text: str) -> str:
    fault = text_fault(text)
    if fault:
        raise ValueError(fault)
    return text


LARGEST_FILE = 4 * 1024 * 1024
"""Bytes; a settings file larger than this is not one."""

M = TypeVar("M", bound=BaseModel)

Number: TypeAlias = Annotated[float, Field(strict=True)]
"""A TOML number; words in quotes and true/false are not numbers."""
Flag: TypeAlias = Annotated[bool, Field(strict=True)]
"""true or false, not 0, 1 or "yes"."""
Date: TypeAlias = Annotated[dt.date, Field(strict=True)]
"""A TOML date, not a number or words in quotes."""
Moment: TypeAlias = Annotated[AwareDatetime, Field(strict=True)]
"""A TOML date and time with its offset."""
Text: TypeAlias = Annotated[str, AfterValidator(_line_of_text)]
"""Free text that is printed; no control or invisible characters."""


def within(lowest: float, highest: float, *, above: bool = False) -> AfterValidator:
    """Accept numbers from ``lowest`` (or only above it) to ``highest``."""

    def check(number: float) -> float:
        if not lowest <= number <= highest or (above and number == lowest):
            start = f"above {lowest:g}" if above else f"{lowest:g}"
            raise ValueError(f"allowed is {start} to {highest:,g}")
        return number

    return AfterValidator(check)


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
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise InputMissingError(f"{path}: no such file; check the name") from None
    except OSError as error:
        raise InputMissingError(f"{path}: cannot be read ({error.strerror})") from None
    if len(raw) > LARGEST_FILE:
        message = "larger than 4 MiB; not a settings file or a map of a farm"
        raise SettingsError([Fault(str(path), 0, 0, message)])
    if 0 in raw[:4]:  # every other byte of Latin letters in UTF-16
        raise SettingsError([_encoding_fault(path, raw, raw.index(0))])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise SettingsError([_encoding_fault(path, raw, error.start)]) from None


def _encoding_fault(path: Path, raw: bytes, start: int) -> Fault:
    before = raw[:start]
    column = start - before.rfind(b"\n")
    guess = "UTF-16" if 0 in raw else "Latin-1 or Windows-1252"
    message = (
        f"byte {start} (0x{raw[start]:02x}) is not UTF-8; the file looks like {guess}; "
        "save it as UTF-8"
    )
    return Fault(str(path), before.count(b"\n") + 1, column, message)


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
    except (ValueError, RecursionError) as error:  # also a number too long to read
        raise SettingsError([syntax_fault(path, text, error)]) from None
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
        raise SettingsError(faults_of(document, model, error)) from None
