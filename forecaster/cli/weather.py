"""``forecaster weather``: where a farm's weather came from, and what it expects."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("weather")(weather)


def weather(
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    mapping: Path | None = options.WEATHER,
    form: str = typer.Option("text", "--format", help="text, json or svg."),
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say which stretch of the season came from where, and draw the fan ahead.

    Example:  forecaster weather --format svg --out fan.svg
    """
    options.check_format(form, ("text", "json", "svg"))
    day, _ = options.load(farm, at, mapping, offline=offline)
    from forecaster.render import fan_svg, weather_text
    from forecaster.render.json import dumps
    from forecaster.service.weather_view import weather_report

    report = weather_report(day)
    if form == "json":
        page = dumps(weather_text.tree(report))
    else:
        page = (fan_svg if form == "svg" else weather_text).render(report)
    options.deliver(page, out)
