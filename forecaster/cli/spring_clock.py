"""``forecaster clock``: springs running with one active, and where to look next."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("clock")(clock)


def clock(
    farm: Path | None = options.FARM,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
) -> None:
    """Say how many springs running each paddock met one active, and where to look next.

    Example:  forecaster clock
    """
    options.check_format(form)
    from forecaster.render import clock_text
    from forecaster.render.json import dumps
    from forecaster.service.spring_clock import clock_page
    from forecaster.service.wiring import farm_at

    loaded, demo = farm_at(farm)
    page = clock_page(loaded, demo=demo)
    if form == "json":
        options.deliver(dumps(clock_text.tree(page)), out)
    else:
        options.deliver(clock_text.render(page), out)
