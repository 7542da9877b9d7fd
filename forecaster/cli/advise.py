"""``forecaster advise``: which active in a paddock, or none, and why."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("advise")(advise)


def advise(
    paddock: str = typer.Argument(help="Name of the paddock."),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say which active suits a paddock, or "do not spray", and why.

    Example:  forecaster advise "Creek Flat"
    """
    options.check_format(form)
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import advise_text
    from forecaster.render.json import dumps
    from forecaster.service.advice import advice
    from forecaster.service.wiring import paddock_called

    said = advice(day, paddock_called(day.farm, paddock), demo=demo)
    if form == "json":
        options.deliver(dumps(advise_text.tree(said)), out)
    else:
        options.deliver(advise_text.render(said), out)
