"""``forecaster odds``: the chances to get paddocks done, now or later."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("odds")(odds)


def odds(
    paddock: str | None = typer.Argument(
        None, help="Name of the paddock, told day by day. Default: all, in a line each."
    ),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say how likely a paddock gets done if you go now, and if you wait.

    Example:  forecaster odds "Back Road"
    """
    options.check_format(form)
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import odds_text
    from forecaster.render.json import dumps
    from forecaster.service.odds import odds_page
    from forecaster.service.wiring import paddock_called

    places = day.farm.paddocks
    if paddock is not None:
        places = (paddock_called(day.farm, paddock),)
    page = odds_page(day, places, demo=demo)
    if form == "json":
        options.deliver(dumps(odds_text.tree(page)), out)
    else:
        options.deliver(odds_text.render(page, days=paddock is not None), out)
