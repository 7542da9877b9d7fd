"""``forecaster season``: one paddock's whole season on one page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from forecaster.cli import options

if TYPE_CHECKING:
    from forecaster.domain.season_page import SeasonPage
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.farm import Paddock


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("season")(season)


def season(
    paddock: str = typer.Argument(help="Name of the paddock."),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = typer.Option("text", "--format", help="text, json, svg, html or pdf."),
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Draw one paddock's season: heads by ripeness, looks, windows and good hours.

    Example:  forecaster season "Back Road" --format svg --out back-road.svg
    """
    options.check_format(form, ("text", "json", "svg", "html", "pdf"))
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import season_svg, season_text
    from forecaster.render.json import dumps
    from forecaster.service.season_view import season_page
    from forecaster.service.wiring import chosen

    place = chosen(day, paddock, None)[0]
    page = season_page(day, place, demo=demo)
    if form == "json":
        options.deliver(dumps(season_text.tree(page)), out)
    elif form in {"html", "pdf"}:
        options.deliver_page(_html(day, place, page), form, page.now, out)
    else:
        options.deliver(
            (season_svg if form == "svg" else season_text).render(page), out
        )


def _html(day: FarmDay, place: Paddock, page: SeasonPage) -> str:
    from forecaster.render import paddock_html
    from forecaster.service.hours_view import paddock_hours

    weeks = [
        paddock_hours(day, place, day.farm.actives[each]) for each in place.actives
    ]
    return paddock_html.render(page, weeks)
