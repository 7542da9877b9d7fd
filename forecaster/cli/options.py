"""Options that several commands share."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np

    from forecaster.service.farm_day import FarmDay

FARM = typer.Option(
    None,
    "--farm",
    help="Folder of the farm. Default: this folder if it holds farm.toml, else the "
    "demo farm.",
    show_default=False,
)
AT = typer.Option(
    None,
    "--at",
    help="The moment to stand at, such as 2026-10-12T07:00 on the weather's clock. "
    "Default: now; the demo has its own.",
    show_default=False,
)
FORMAT = typer.Option("text", "--format", help="text or json.")
OUT = typer.Option(
    None, "--out", help="Write to this file instead of the screen.", show_default=False
)
WEATHER = typer.Option(
    None,
    "--weather",
    help="Mapping file of a CSV of hourly weather to use instead; its place counts.",
    show_default=False,
)
ACTIVE = typer.Option(
    None,
    "--active",
    help="glyphosate or paraquat. Default: the first one of the paddock.",
    show_default=False,
)
OFFLINE = typer.Option(
    False, "--offline", help="Ask no weather service; use what was fetched before."
)
FORMATS = ("text", "json")


def check_format(wanted: str, allowed: tuple[str, ...] = FORMATS) -> None:
    """Refuse an unknown format.

    Raises
    ------
    UsageError
        If it is not one of ``allowed``.
    """
    from forecaster.errors import UsageError

    if wanted not in allowed:
        raise UsageError(f"--format {wanted!r}: allowed is {' or '.join(allowed)}")


def load(
    farm: Path | None, at: str | None, weather: Path | None, *, offline: bool = False
) -> tuple[FarmDay, bool]:
    """The farm day the options ask for, and whether it is the demo."""
    from forecaster.service.wiring import farm_day

    return farm_day(farm, at, weather, offline=offline)


def silence_output() -> None:
    """Point standard output elsewhere, so that what it still holds is dropped."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


@contextmanager
def printing() -> Iterator[None]:
    """Print to the screen, and to its very end.

    Raises
    ------
    BrokenPipeError
        If the reader, such as a pager, has gone.
    OutputError
        If standard output cannot take more, such as a file on a full disk.
    """
    from forecaster.errors import OutputError

    try:
        yield
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        silence_output()
        raise OutputError(
            f"standard output cannot be written ({error.strerror}); make room or "
            "choose another place"
        ) from None


def deliver(text: str | bytes, out: Path | None) -> None:
    """Print text or bytes, or write them whole to ``out``.

    Bytes are printed as they are: no system's own line ends are put in.

    Raises
    ------
    OutputError
        If the file cannot be written; an older one is then still whole.
    """
    if out is None:
        with printing():
            typer.echo(text, nl=False)  # bytes go to the buffer underneath
        return
    from forecaster.service.files import write_whole

    write_whole(out, text)
    typer.echo(f"written: {out}", err=True)


def deliver_page(page: str, form: str, moment: np.datetime64, out: Path | None) -> None:
    """A page of HTML as it is, or as ``pdf`` dated ``moment``.

    Raises
    ------
    UsageError
        If a PDF has no file to go to.
    OutputError
        If it cannot be written, or nothing here makes a PDF: the HTML is left beside.
    """
    if form != "pdf":
        deliver(page, out)
        return
    from forecaster.errors import OutputError, UsageError
    from forecaster.service import pdf

    if out is None:
        raise UsageError("--format pdf: say where to with --out FILE.pdf")
    try:
        made = pdf.render(page, moment)
    except pdf.NoPrinterError as error:
        beside = out.with_name(f"{out.name}.html")
        deliver(page, beside)
        raise OutputError(
            f"{out}: not written, nothing here makes a PDF ({error}); open {beside} "
            "and print it, or install Chromium or 'forecaster[pdf]' and try again"
        ) from None
    deliver(made, out)
