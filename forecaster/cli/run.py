"""``forecaster run``: checks for as long as it is left running."""

from __future__ import annotations

from pathlib import Path

import typer


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("run")(run)


def run(
    farm: list[Path] | None = typer.Option(
        None,
        "--farm",
        help="Folder of a farm; may be given more than once. Default: this folder, "
        "if it holds farm.toml.",
        show_default=False,
    ),
) -> None:
    """Check farms by the clock until it is stopped with Ctrl-C.

    Example:  forecaster run --farm my-farm
    """
    from forecaster.service.keep_running import keep_running, routines

    raise typer.Exit(keep_running(routines(farm), _tell))


def _tell(line: str) -> None:
    typer.echo(f"forecaster run: {line}", err=True)
