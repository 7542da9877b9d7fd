"""``forecaster explain``: the numbers behind one paddock's outlook."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("explain")(explain)


def explain(
    paddock: str = typer.Argument(help="Name of the paddock."),
    active: str | None = options.ACTIVE,
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say which numbers and sources an outlook rests on, and what would change it.

    Example:  forecaster explain "Back Road"
    """
    options.check_format(form)
    day, _ = options.load(farm, at, weather, offline=offline)
    from forecaster.render import explain_text
    from forecaster.render.json import dumps
    from forecaster.service.explain_view import explain as assemble
    from forecaster.service.wiring import chosen

    found = assemble(day, *chosen(day, paddock, active))
    if form == "json":
        options.deliver(dumps(explain_text.tree(found)), out)
    else:
        options.deliver(explain_text.render(found), out)
