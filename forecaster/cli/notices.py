"""``forecaster sign`` and ``neighbour``: words about one planned block."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options

ACTIVE = typer.Option(
    None,
    "--active",
    help="glyphosate or paraquat. Default: the first with a planned block.",
    show_default=False,
)
BLOCK = typer.Option(
    None,
    "--block",
    help="Which planned block: its number, or its start as the outlook prints it, such "
    'as "Wed 14 Oct 12:00". Default: the first.',
    show_default=False,
)


def join(app: typer.Typer) -> None:
    """Add the commands."""
    app.command("sign")(sign)
    app.command("neighbour")(neighbour)


def sign(
    paddock: str = typer.Argument(help="Name of the paddock."),
    active: str | None = ACTIVE,
    block: str | None = BLOCK,
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = typer.Option("html", "--format", help="html (A5), pdf or text."),
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Make a sign for the gate: what, when, and when stock may come back.

    Example:  forecaster sign "Back Road" --out sign.html
    """
    options.check_format(form, ("html", "pdf", "text"))
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import sign as signs
    from forecaster.service.notice import notice

    about = notice(day, paddock, active, block, demo=demo)
    if form == "text":
        options.deliver(signs.text(about), out)
    else:
        options.deliver_page(signs.html(about), form, day.weather.now, out)


def neighbour(
    paddock: str = typer.Argument(help="Name of the paddock."),
    near: str | None = typer.Option(
        None,
        "--near",
        help="Whom it is for, as the farm file or the map calls what lies there.",
        show_default=False,
    ),
    active: str | None = ACTIVE,
    block: str | None = BLOCK,
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Write a note to a neighbour about a planned block; it is never a promise.

    Example:  forecaster neighbour "Back Road" --near "Neighbour's canola"
    """
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import neighbour as notes
    from forecaster.service.notice import notice

    about = notice(day, paddock, active, block, near=near, ahead=True, demo=demo)
    options.deliver(notes.text(about), out)
