"""A page of HTML as PDF, by what is installed: Chromium, or else WeasyPrint.

Neither is needed for anything else. The same page gives the same bytes: the moment
of printing that both write into a PDF is replaced by the page's own.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

CHROMIUM = ("chromium", "chromium-browser")
"""Names on PATH, tried in this order."""
ELSEWHERE = "FORECASTER_CHROMIUM"
"""The variable that names one that is not on PATH, or is called otherwise."""
SECONDS = 60.0
"""A page is printed in one or two; beyond this nothing is coming."""

_DATE = re.compile(rb"D:\d{14}")
_IDS = re.compile(rb"/ID *\[ *<[0-9A-Fa-f]+> *<[0-9A-Fa-f]+> *\]")


class NoPrinterError(Exception):
    """Nothing here turns HTML into PDF; the message says what was tried."""


def render(page: str, moment: np.datetime64) -> bytes:
    """The pages of ``page``, dated ``moment``.

    Raises
    ------
    NoPrinterError
        If neither Chromium nor WeasyPrint gives a PDF.
    """
    tried = []
    for way in (by_chromium, by_weasyprint):
        try:
            return dated(way(page), moment)
        except NoPrinterError as error:
            tried.append(str(error))
    raise NoPrinterError("; ".join(tried))


def by_chromium(page: str) -> bytes:
    """Print with the first Chromium on PATH, in a folder of its own.

    Raises
    ------
    NoPrinterError
        If there is none, it fails or does not answer.
    """
    named = os.environ.get(ELSEWHERE)
    names = (named,) if named else CHROMIUM
    found = next(filter(None, map(shutil.which, names)), None)
    if found is None:
        where = f"no {named} ({ELSEWHERE})" if named else "no Chromium on PATH"
        raise NoPrinterError(where)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        source, made = Path(folder, "page.html"), Path(folder, "page.pdf")
        source.write_text(page, encoding="utf-8", newline="\n")
        try:
            subprocess.run(  # noqa: S603 - a list, no shell, our own page
                _arguments(found, Path(folder), source, made),
                check=True,
                capture_output=True,
                timeout=SECONDS,
            )
            pdf = _printed(made)
        except (OSError, subprocess.SubprocessError) as error:
            raise NoPrinterError(f"{found}: {type(error).__name__}") from None
    return _whole(pdf, found)


def _printed(made: Path) -> bytes:
    return made.read_bytes()


def _arguments(program: str, folder: Path, source: Path, made: Path) -> list[str]:
    # Its sandbox refuses to run as root; the page holds no script and asks for nothing.
    root = getattr(os, "geteuid", lambda: 1)() == 0
    return [
        program,
        "--headless",
        "--disable-gpu",
        *(["--no-sandbox"] if root else []),
        f"--user-data-dir={folder / 'profile'}",
        "--no-first-run",
        "--no-pdf-header-footer",
        f"--print-to-pdf={made}",
        source.as_uri(),
    ]


def by_weasyprint(page: str) -> bytes:
    """Print with WeasyPrint, from the extra ``pdf``.

    Raises
    ------
    NoPrinterError
        If it is not installed or its libraries do not load.
    """
    try:
        import weasyprint
    except (ImportError, OSError):
        raise NoPrinterError("WeasyPrint (extra 'pdf') does not load") from None
    return _whole(bytes(weasyprint.HTML(string=page).write_pdf()), "WeasyPrint")


def _whole(pdf: bytes, maker: str) -> bytes:
    if not pdf.startswith(b"%PDF-") or b"%%EOF" not in pdf[-1024:]:
        raise NoPrinterError(f"{maker} gave no whole PDF")
    return pdf


def dated(pdf: bytes, moment: np.datetime64) -> bytes:
    """``pdf`` with every date replaced by ``moment`` and its random id by noughts.

    Lengths stay, so every offset in the file still holds.
    """
    stamp = re.sub(r"\D", "", str(moment.astype("datetime64[s]"))).encode()
    pdf = _DATE.sub(b"D:" + stamp, pdf)
    return _IDS.sub(lambda found: re.sub(rb"[0-9A-Fa-f]{16,}", _noughts, found[0]), pdf)


def _noughts(found: re.Match[bytes]) -> bytes:
    return b"0" * len(found[0])
