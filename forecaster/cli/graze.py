"""``forecaster graze``: which paddock to graze next."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("graze")(graze)


def graze(
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say which paddock to graze next: late heads, feed going off, ripening, the rest.

    Example:  forecaster graze
    """
    options.check_format(form)
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import graze_text
    from forecaster.render.json import dumps
    from forecaster.service.graze import graze_page

    page = graze_page(day, demo=demo)
    if form == "json":
        options.deliver(dumps(graze_text.tree(page)), out)
    else:
        options.deliver(graze_text.render(page), out)
