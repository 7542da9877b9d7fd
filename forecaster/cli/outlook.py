"""``forecaster outlook``: the weekly outlook of a farm."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("outlook")(outlook)


def outlook(
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Print the weekly outlook: stages, windows, good hours, what to do next.

    Example:  forecaster outlook --farm my-farm --at 2026-10-12T07:00
    """
    options.check_format(form)
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.service.daily import outlook as assemble

    value = assemble(day, demo=demo)
    if form == "json":
        from forecaster.render import json

        options.deliver(json.render(value), out)
        return
    from forecaster.render import screen, text

    if out is None:
        with options.printing():
            screen.show(text.lines(value))
    else:
        options.deliver(text.render(value), out)
