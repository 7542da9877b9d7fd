"""``forecaster hours``: every hour of one paddock, with every reason."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("hours")(hours)


def hours(
    paddock: str = typer.Argument(help="Name of the paddock."),
    active: str | None = options.ACTIVE,
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Print every hour of the week in one paddock and every reason for it.

    Example:  forecaster hours "Creek Flat" --active paraquat
    """
    options.check_format(form)
    day, _ = options.load(farm, at, weather, offline=offline)
    from forecaster.render import hours_text
    from forecaster.render.json import dumps
    from forecaster.service.hours_view import paddock_hours
    from forecaster.service.wiring import chosen

    week = paddock_hours(day, *chosen(day, paddock, active))
    text = dumps(hours_text.tree(week)) if form == "json" else hours_text.render(week)
    options.deliver(text, out)
