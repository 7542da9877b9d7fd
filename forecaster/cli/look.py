"""``forecaster look``: heads counted in a paddock, written into the farm's log."""

from __future__ import annotations

import sys
from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("look")(look)


def look(
    paddock: str | None = typer.Argument(
        None, help="Name of the paddock.", show_default=False
    ),
    counts: list[str] | None = typer.Argument(
        None,
        help='Heads by stage word or BBCH code, such as "not out=40" heading=60; '
        "another weed as silver_grass:heading=60. Without: you are asked.",
        show_default=False,
    ),
    weed: str | None = typer.Option(
        None,
        "--weed",
        help="Name or id of the weed. Default: the paddock's target.",
        show_default=False,
    ),
    on: str | None = typer.Option(
        None,
        "--on",
        help="When you counted, such as 2026-10-11 (noon) or 2026-10-11T15:00 on the "
        "farm's clock. Default: now.",
        show_default=False,
    ),
    by: str | None = typer.Option(
        None,
        "--by",
        help="Who counted. Default: your name on this computer.",
        show_default=False,
    ),
    note: str = typer.Option("", "--note", help="Anything worth keeping."),
    photo: str = typer.Option("", "--photo", help="Path of a photo."),
    sheet_file: Path | None = typer.Option(
        None, "--from", help="Record a CSV that was filled in.", show_default=False
    ),
    sheet: bool = typer.Option(False, "--sheet", help="Print an empty CSV to fill in."),
    listing: bool = typer.Option(
        False, "--list", help="Print the log, withdrawn looks too."
    ),
    advise: bool = typer.Option(
        False, "--advise", help="Say which paddock and weed to count next."
    ),
    withdraw: str | None = typer.Option(
        None, "--withdraw", help="Id of a look to take back.", show_default=False
    ),
    because: str | None = typer.Option(
        None, "--because", help="Why it is taken back.", show_default=False
    ),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    offline: bool = options.OFFLINE,
    form: str = typer.Option(
        "text", "--format", help="text or json, of --list and --advise."
    ),
    out: Path | None = options.OUT,
) -> None:
    """Record how many heads of a weed are at which stage.

    Example:  forecaster look "Creek Flat" "not out=40" heading=60 --on 2026-10-11
    """
    from forecaster.cli import look_modes
    from forecaster.service.look_words import Asked

    asked = Asked(paddock, tuple(counts or ()), weed, on, by, note, photo)
    given = {
        "--from": sheet_file is not None,
        "--sheet": sheet,
        "--list": listing,
        "--advise": advise,
        "--at": at is not None,
        "--offline": offline,
        "--withdraw": withdraw is not None,
        "--because": because is not None,
        "--format": form != "text",
        "--out": out is not None,
    }
    mode = look_modes.mode_of(
        asked, {name for name, is_given in given.items() if is_given}
    )
    if mode == "--list":
        look_modes.show_log(farm, paddock, form, out)
    elif mode == "--advise":
        look_modes.advise(farm, at, form, out, offline=offline)
    elif mode == "--sheet":
        look_modes.show_sheet(farm, out)
    elif mode == "--withdraw":
        look_modes.take_back(farm, str(withdraw), because, by)
    elif mode == "--from":
        look_modes.enter_sheet(farm, Path(str(sheet_file)), by)
    else:
        look_modes.write_down(farm, asked, ask=sys.stdin.isatty())
