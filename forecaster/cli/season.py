"""``forecaster season``: one paddock's whole season on one page."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("season")(season)


def season(
    paddock: str = typer.Argument(help="Name of the paddock."),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = typer.Option("text", "--format", help="text, json or svg."),
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Draw one paddock's season: heads by ripeness, looks, windows and good hours.

    Example:  forecaster season "Back Road" --format svg --out back-road.svg
    """
    options.check_format(form, ("text", "json", "svg"))
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import season_svg, season_text
    from forecaster.render.json import dumps
    from forecaster.service.season_view import season_page
    from forecaster.service.wiring import chosen

    page = season_page(day, chosen(day, paddock, None)[0], demo=demo)
    if form == "json":
        told = dumps(season_text.tree(page))
    else:
        told = (season_svg if form == "svg" else season_text).render(page)
    options.deliver(told, out)
