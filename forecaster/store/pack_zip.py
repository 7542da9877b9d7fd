"""A zip that is the same bytes for the same files, and one read as if by an enemy.

Nothing is compressed: two versions of a compressor may give other bytes. Files stand in
the order of their names, all dated 1 January 1980, the first day a zip can tell.
"""

from __future__ import annotations

import hashlib
import io
import json
import stat
import zipfile
import zlib
from typing import TYPE_CHECKING, Any

from forecaster.errors import DataError, InputMissingError
from forecaster.settings.names import plain
from forecaster.store.pack_names import MANIFEST, clash, entry_fault

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

FORMAT = 1
"""Raised when a folder, file or field changes its meaning or goes."""
KIND = "forecaster farm pack"
MOST_FILES = 500
LARGEST_FILE = 128 * 1024 * 1024
LARGEST_PACK = 256 * 1024 * 1024
"""Bytes of all files together, whatever the zip says of itself."""
_DATE = (1980, 1, 1, 0, 0, 0)
_ENCRYPTED = 0x1
_UNIX = 3
_ATTRIBUTES = (stat.S_IFREG | 0o644) << 16
_BROKEN = (
    zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError,
    ValueError, OSError,
)  # fmt: skip
"""What Python raises at zips it cannot read."""


def packed(files: Mapping[str, bytes]) -> bytes:
    """Files by name as one zip, with a manifest of their checksums.

    Raises
    ------
    DataError
        If they are too many or too large to be read back.
    """
    _check_size({name: len(content) for name, content in files.items()}, "the farm")
    whole = {**files, MANIFEST: _manifest(files)}
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as zipped:
        for name in sorted(whole):
            info = zipfile.ZipInfo(name, _DATE)
            info.create_system = _UNIX
            info.external_attr = _ATTRIBUTES
            zipped.writestr(info, whole[name])
    return made.getvalue()


def unpacked(path: Path) -> dict[str, bytes]:
    """Files of a pack by name, without the manifest; every one matches it.

    Raises
    ------
    InputMissingError
        If there is no such file.
    DataError
        If it is no pack, is damaged, too large, or holds what may not be in one.
    """
    if not path.is_file():
        raise InputMissingError(f"{path}: no such file; name a pack to unpack")
    if path.stat().st_size > 2 * LARGEST_PACK:
        raise DataError(f"{path}: is too large to be a pack; nothing was unpacked")
    try:
        with zipfile.ZipFile(path) as zipped:
            files = _files(path, zipped)
    except _BROKEN as error:
        raise DataError(
            f"{path}: is no zip that can be read ({plain(str(error), 80)}); nothing "
            "was unpacked. Fetch or make it again"
        ) from None
    return _proved(path, files)


def _files(path: Path, zipped: zipfile.ZipFile) -> dict[str, bytes]:
    entries = zipped.infolist()
    for each in entries:
        fault = _entry_fault(each)
        if fault:
            raise _refused(path, each.orig_filename, fault)
    twice = clash(each.filename for each in entries)
    if twice is not None:
        raise _refused(path, twice, "another entry has that name or a part of it")
    _check_size({each.filename: each.file_size for each in entries}, str(path))
    return {each.filename: _content(path, zipped, each) for each in entries}


def _entry_fault(entry: zipfile.ZipInfo) -> str | None:
    if entry.orig_filename != entry.filename:
        return "its name is written two ways"
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if entry.is_dir() or kind not in {0, stat.S_IFREG}:
        return "it is a link, a folder or no plain file"
    if entry.flag_bits & _ENCRYPTED:
        return "it is encrypted"
    if entry.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        return "it is compressed in a way that is not read here"
    return entry_fault(entry.filename)


def _content(path: Path, zipped: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """Never more than the entry says it has."""
    with zipped.open(entry) as file:
        content = file.read(entry.file_size + 1)
    if len(content) != entry.file_size:
        raise _refused(path, entry.filename, "it is longer or shorter than it says")
    return content


def _check_size(sizes: Mapping[str, int], what: str) -> None:
    if len(sizes) > MOST_FILES + 1:
        raise DataError(
            f"{what}: {len(sizes):,} files; allowed in a pack is up to {MOST_FILES}"
        )
    for name, size in sizes.items():
        if size > LARGEST_FILE:
            raise DataError(
                f"{what}: {plain(name)} has {size:,} bytes; allowed in a pack is up to "
                f"{LARGEST_FILE:,} a file"
            )
    if sum(sizes.values()) > LARGEST_PACK:
        raise DataError(
            f"{what}: {sum(sizes.values()):,} bytes in all; allowed in a pack is up to "
            f"{LARGEST_PACK:,}"
        )


def _manifest(files: Mapping[str, bytes]) -> bytes:
    listed = [
        {
            "name": name,
            "bytes": len(files[name]),
            "sha256": hashlib.sha256(files[name]).hexdigest(),
        }
        for name in sorted(files)
    ]
    whole = {"kind": KIND, "format": FORMAT, "files": listed}
    return (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode()


def _proved(path: Path, files: dict[str, bytes]) -> dict[str, bytes]:
    """The files, once they are exactly what the manifest says."""
    said = files.pop(MANIFEST, None)
    if said is None:
        raise DataError(f"{path}: holds no {MANIFEST}; it is no pack of a farm")
    tree = _tree(path, said)
    if tree.get("kind") != KIND or tree.get("format") != FORMAT:
        raise DataError(
            f"{path}: is no pack of a farm that this program reads (kind "
            f"{plain(str(tree.get('kind')))}, format {plain(str(tree.get('format')))}; "
            f"read here is format {FORMAT})"
        )
    if _manifest(files) != said:
        raise _refused(
            path, _first_wrong(tree, files), "it is not as the manifest says"
        )
    return files


def _tree(path: Path, said: bytes) -> dict[str, Any]:
    try:
        tree = json.loads(said)
    except (ValueError, RecursionError):
        tree = None
    if not isinstance(tree, dict):
        raise DataError(f"{path}: its {MANIFEST} is damaged; nothing was unpacked")
    return tree


def _first_wrong(tree: dict[str, Any], files: dict[str, bytes]) -> str:
    """The file that does not match, or the manifest itself."""
    wanted = json.loads(_manifest(files))["files"]
    listed = tree.get("files")
    held = listed if isinstance(listed, list) else []
    wrong = [each["name"] for each in wanted if each not in held]
    return wrong[0] if wrong else MANIFEST


def _refused(path: Path, name: str, why: str) -> DataError:
    return DataError(
        f"{path}: {plain(name)} is refused: {why}. Nothing was unpacked; do not trust "
        "this file, or make the pack again"
    )
