"""What every log that only grows has in common when it is read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.errors import InputMissingError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

LARGEST_LOG = 256 * 1024 * 1024
"""Bytes; some hundred thousand lines. A larger file is not ours."""
SHOWN = 5
"""Numbers of lines told in one warning."""
_BOM = b"\xef\xbb\xbf"


def content_of(path: Path, what: str) -> bytes:
    """All of a log; an absent file is empty. ``what`` is what it is a log of.

    Raises
    ------
    InputMissingError
        If the file is there and cannot be read.
    """
    if not path.exists():
        return b""
    try:
        if not path.is_file():
            raise InputMissingError(f"{path}: is not a plain file")
        if path.stat().st_size > LARGEST_LOG:
            raise InputMissingError(
                f"{path}: has more than {LARGEST_LOG:,} bytes; it is no log of {what}"
            )
        return path.read_bytes()
    except OSError as error:
        raise InputMissingError(f"{path}: cannot be read ({error.strerror})") from None


def lines_of(content: bytes) -> Iterable[tuple[int, bytes]]:
    """Lines that hold something, with their numbers from 1."""
    lines = content.removeprefix(_BOM).split(b"\n")
    return ((n, line.strip()) for n, line in enumerate(lines, 1) if line.strip())


def numbered(numbers: list[int]) -> str:
    """``line 3`` or ``lines 3, 5, 9``."""
    more = f" and {len(numbers) - SHOWN} more" if len(numbers) > SHOWN else ""
    listed = ", ".join(map(str, numbers[:SHOWN])) + more
    return f"line {listed}" if len(numbers) == 1 else f"lines {listed}"
