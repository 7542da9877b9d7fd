"""``forecaster history``: why there was an alert on a day, or why there was none."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("history")(history)


def history(
    farm: Path | None = options.FARM,
    on: str | None = typer.Option(
        None,
        "--on",
        help="The day, such as 2026-10-12, on the farm's calendar. Default: today.",
        show_default=False,
    ),
    since: str | None = typer.Option(
        None, "--since", help="The first of several days.", show_default=False
    ),
    until: str | None = typer.Option(
        None, "--until", help="The last of them. Default: today.", show_default=False
    ),
    paddock: str | None = typer.Option(
        None, "--paddock", help="Only this paddock.", show_default=False
    ),
    active: str | None = typer.Option(
        None, "--active", help="Only this active.", show_default=False
    ),
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
) -> None:
    """Show what checks found and told on a day, and why not more.

    Example:  forecaster history --on 2026-10-12 --paddock "Creek Flat"
    """
    options.check_format(form)
    from forecaster.render import history_json, history_text
    from forecaster.render.json import dumps
    from forecaster.service.alerts.history_view import history as history_of
    from forecaster.service.alerts.history_words import Asked
    from forecaster.service.clock import utc_now
    from forecaster.service.program import own_farm
    from forecaster.settings.farm import load_farm

    loaded = load_farm(own_farm(farm, "history"))
    page = history_of(loaded, Asked(on, since, until, paddock, active), utc_now())
    if form == "json":
        options.deliver(dumps(history_json.tree(page)), out)
    else:
        options.deliver(history_text.render(page), out)
