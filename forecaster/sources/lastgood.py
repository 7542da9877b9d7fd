"""The last answer that held weather, kept for days on which none can be had.

One file for each source, product and place: a first line with schema and SHA-256 of
all that follows, a second line of JSON, then the body as it came.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from forecaster.errors import OutputError
from forecaster.sources.atomic_file import replace, safe_name, write_whole
from forecaster.sources.sealed import seal, unseal

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from forecaster.sources.request import Request

KIND = "last-good"
SCHEMA = 1
LARGEST = 32 * 1024 * 1024
"""Bytes of a file of ours; a larger one is not ours."""
SIDE = ".aside"


@dataclass(frozen=True, slots=True)
class Kept:
    """A body that was accepted once, and when and from where it came."""

    body: bytes
    retrieved_at: np.datetime64
    url: str


class LastGood:
    """The store in one folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def save(self, request: Request, body: bytes, retrieved: np.datetime64) -> None:
        """Keep a body that was found good; the one before is whole until then.

        Raises
        ------
        OutputError
            If it is too large or cannot be written.
        """
        content = seal(KIND, SCHEMA, head_of(request, retrieved), body)
        path = self._path(request)
        if _holds(path, content):
            return
        if len(content) > LARGEST:
            raise OutputError(f"{path}: not kept, larger than {LARGEST:,} bytes")
        why = ""
        try:
            write_whole(path, content)
        except OSError as error:
            why = error.strerror or type(error).__name__
        if why:
            raise OutputError(f"{path}: cannot be written ({why})")

    def load(
        self, request: Request, tell: Callable[[str], None] | None = None
    ) -> Kept | None:
        """What is kept for this source, product and place; None if nothing sound is.

        A damaged, foreign or newer file is renamed, and ``tell`` is told so.
        """
        path = self._path(request)
        tell = tell or _nobody
        try:
            if not path.is_symlink() and not path.exists():
                return None
            return _read(path, request)
        except ValueError as error:
            tell(f"{path.name}: {error}; {_set_aside(path)}")
        except OSError as error:
            tell(f"{path.name}: cannot be read ({error.strerror})")
        return None

    def _path(self, request: Request) -> Path:
        name = name_of(request)
        place = f"{name['latitude']} {name['longitude']}"
        return self._folder / (
            safe_name(request.source, request.product, place) + ".kept"
        )


def _holds(path: Path, content: bytes) -> bool:
    """Whether the file is this already; an answer out of the cache often is."""
    try:
        return not path.is_symlink() and path.read_bytes() == content
    except OSError:
        return False


def _nobody(_: str) -> None:
    """Hear what is told, and say nothing."""


def name_of(request: Request) -> dict[str, str]:
    """What one file is of; about 11 m apart is another place."""
    return {
        "source": request.source,
        "product": request.product,
        "latitude": f"{request.place.latitude + 0.0:.4f}",
        "longitude": f"{request.place.longitude + 0.0:.4f}",
    }


def head_of(request: Request, retrieved: np.datetime64) -> dict[str, str]:
    """What is written above a body: of what it is, from where, and when it came."""
    moment = str(retrieved.astype("datetime64[s]")) + "Z"
    return {**name_of(request), "url": request.url, "retrieved_at": moment}


def _read(path: Path, request: Request) -> Kept:
    """The content; ValueError says what is wrong with it."""
    if path.is_symlink() or not path.is_file():
        raise ValueError("is not a plain file")
    with path.open("rb") as file:
        content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise ValueError("is too large to be ours")
    return _kept(*unseal(KIND, SCHEMA, content), request)


def _kept(head: dict[str, Any], body: bytes, request: Request) -> Kept:
    """The checksum holds, so the head is as it was written; it may be another's."""
    if not name_of(request).items() <= head.items():
        raise ValueError("holds another source, product or place")
    return Kept(body, moment_of(head), str(head.get("url")))


def moment_of(head: dict[str, Any]) -> np.datetime64:
    """When the body came, UTC; ValueError if it does not say."""
    text = str(head.get("retrieved_at")).removesuffix("Z")
    return np.datetime64(text, "s")


def _set_aside(path: Path) -> str:
    try:
        replace(path, path.with_name(path.name + SIDE))
    except OSError:
        return "it is not used"
    return f"it is set aside as {path.name}{SIDE} and not used"
