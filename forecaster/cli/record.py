"""``forecaster record``: what was sprayed, written into the farm's log."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("record")(record)


def record(
    paddock: str | None = typer.Argument(
        None, help="Name of the paddock.", show_default=False
    ),
    told: list[str] | None = typer.Argument(
        None,
        help="Active, start, finish, then field=value, such as hectares=25. With "
        "--correct only field=value.",
        show_default=False,
    ),
    wind: list[str] | None = typer.Option(
        None,
        "--wind",
        help='A change of wind during the job, such as "14:30 SW 16" (km/h). Again '
        "for each.",
        show_default=False,
    ),
    tank: list[str] | None = typer.Option(
        None,
        "--tank",
        help='One tank, such as "12:00-13:10 25 ha 1500 L". Again for each.',
        show_default=False,
    ),
    sheet: Path | None = typer.Option(
        None, "--sheet", help="Record every [[record]] of a TOML.", show_default=False
    ),
    correct: int | None = typer.Option(
        None, "--correct", help="Number of a record to put right.", show_default=False
    ),
    withdraw: int | None = typer.Option(
        None, "--withdraw", help="Number of a record to take back.", show_default=False
    ),
    because: str | None = typer.Option(
        None, "--because", help="Why, of either.", show_default=False
    ),
    by: str | None = typer.Option(
        None,
        "--by",
        help="Who records. Default: your name on this computer.",
        show_default=False,
    ),
    verify: bool = typer.Option(
        False, "--verify", help="Check every link of the log; name the first broken."
    ),
    listing: bool = typer.Option(
        False, "--list", help="Print the records, withdrawn ones too."
    ),
    page: str | None = typer.Option(
        None, "--page", help="A page of this paddock's records.", show_default=False
    ),
    farm: Path | None = options.FARM,
    form: str | None = typer.Option(
        None,
        "--format",
        help="text, json or csv (this season) of --list; html or pdf of --page.",
        show_default=False,
    ),
    out: Path | None = options.OUT,
) -> None:
    """Record what was sprayed; list it, correct it, prove it.

    Example:  forecaster record "Creek Flat" glyphosate 2026-10-14T12:00 17:00
    "product=as on the label" hectares=25 "wind=SW 16"
    """
    from forecaster.cli import record_modes as modes

    words = [*([] if paddock is None else [paddock]), *(told or ())]
    given = {
        "words": bool(words), "--wind": bool(wind), "--tank": bool(tank),
        "--sheet": sheet is not None, "--correct": correct is not None,
        "--withdraw": withdraw is not None, "--because": because is not None,
        "--by": by is not None, "--verify": verify, "--list": listing,
        "--page": page is not None, "--format": form is not None,
        "--out": out is not None,
    }  # fmt: skip
    mode = modes.mode_of({name for name, is_given in given.items() if is_given})
    winds, tanks = wind or [], tank or []
    if mode == "--verify":
        modes.check_links(farm)
    elif mode == "--list":
        modes.show(farm, words, form or "text", out)
    elif mode == "--page":
        modes.show_page(farm, str(page), form or "html", out)
    elif mode == "--withdraw":
        modes.take_back(farm, int(str(withdraw)), because, by)
    elif mode == "--correct":
        modes.put_right(farm, int(str(correct)), (words, winds, tanks), because, by)
    elif mode == "--sheet":
        modes.enter_sheet(farm, Path(str(sheet)), by)
    else:
        modes.write_down(farm, words, winds, tanks, by)
