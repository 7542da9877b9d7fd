"""``forecaster pack`` and ``unpack``: a whole farm as one file, and back."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add both commands."""
    app.command("pack")(pack)
    app.command("unpack")(unpack)


def pack(
    out: Path = typer.Option(..., "--out", help="The zip to write."),
    farm: Path | None = options.FARM,
) -> None:
    """Write a farm's files, logs and told alerts into one zip; never its secrets.

    Example:  forecaster pack --farm my-farm --out my-farm.zip
    """
    from forecaster.service import pack as packing
    from forecaster.service.program import own_farm

    made = packing.pack(own_farm(farm, "pack"))
    options.deliver(made.content, out)
    for each in made.left_out:
        typer.echo(f"left out: {each}", err=True)
    typer.echo(f"{len(made.names)} files, {len(made.content):,} bytes")


def unpack(
    file: Path = typer.Argument(help="The zip that pack wrote."),
    folder: Path = typer.Argument(help="Folder to make; it must not hold anything."),
) -> None:
    """Make a farm folder from such a zip, all of it or nothing.

    Example:  forecaster unpack my-farm.zip my-farm-again
    """
    from forecaster.service import unpack as unpacking

    names = unpacking.unpack(file, folder)
    typer.echo(f"{len(names)} files in {folder}")
    typer.echo(f"Then:  forecaster outlook --farm {folder}")
