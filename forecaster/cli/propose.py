"""``forecaster propose``: a mapping file to check, from a table's header."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("propose")(propose)


def propose(
    table: Path = typer.Argument(help="CSV of a weather station or logger."),
    out: Path | None = options.OUT,
) -> None:
    """Propose a mapping file for a CSV; you answer its questions and confirm it.

    Example:  forecaster propose station.csv --out station.toml
    """
    from forecaster.sources.csv_proposal import propose as proposal

    options.deliver(proposal(table), out)
