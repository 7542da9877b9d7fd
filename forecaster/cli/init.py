"""``forecaster init``: a commented farm folder that runs at once."""

from __future__ import annotations

from pathlib import Path

import typer


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("init")(init)


def init(
    folder: Path = typer.Argument(help="Folder to make; it must not hold a farm yet."),
    paddocks: Path | None = typer.Option(
        None,
        "--paddocks",
        help="GeoJSON map of your paddocks and sensitive areas.",
        show_default=False,
    ),
    name: str = typer.Option("My farm", "--name", help="Name of the farm."),
) -> None:
    """Make a farm folder to fill in, with a comment at every line.

    Example:  forecaster init my-farm --paddocks paddocks.geojson
    """
    from forecaster.service.new_farm import make

    made = make(folder, paddocks, name)
    typer.echo(f"Made {made}. Open it in a text editor and go through it line by line.")
    typer.echo(f"Then:  forecaster outlook --farm {folder}")
