"""``forecaster schedule``: files that make the computer run checks by itself."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from forecaster.cli.options import printing

if TYPE_CHECKING:
    from forecaster.service.schedules import Schedule


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("schedule")(schedule)


def schedule(
    farm: Path | None = typer.Option(
        None,
        "--farm",
        help="Folder of the farm. Default: this folder, if it holds farm.toml.",
        show_default=False,
    ),
    system: str | None = typer.Option(
        None,
        "--for",
        help="systemd, cron or windows. Default: what this computer has.",
        show_default=False,
    ),
    whole_system: bool = typer.Option(
        False, "--system", help="For the computer, not for the user logged on."
    ),
    printed: bool = typer.Option(
        False, "--print", help="Print the files; so it does without --write."
    ),
    write: Path | None = typer.Option(
        None,
        "--write",
        help="Write the files into this folder and show what changes.",
        show_default=False,
    ),
) -> None:
    """Make timers that check a farm by themselves. Starts nothing.

    Example:  forecaster schedule --farm my-farm
    """
    from forecaster.errors import UsageError
    from forecaster.service.clock import utc_now
    from forecaster.service.program import own_farm
    from forecaster.service.schedules import (
        make_schedule,
        spec_of,
        this_system,
        write_schedule,
    )
    from forecaster.settings.farm import load_farm

    if printed and write is not None:
        raise UsageError("--print and --write: choose one")
    folder = None if write is None else write.expanduser()
    now = utc_now()
    home = load_farm(own_farm(farm, "schedule"))
    spec = spec_of(home, now, whole_system=whole_system)
    made = make_schedule(spec, system or this_system(), now)
    changed = None if folder is None else write_schedule(made, folder)
    with printing():
        typer.echo(_page(made) if changed is None else _written(made, folder, changed))


def _page(made: Schedule) -> str:
    files = [f"===== {name}\n{text}" for name, text in made.files.items()]
    return "\n".join([*files, f"===== what to do\n{made.install}"]).rstrip("\n")


def _written(made: Schedule, folder: Path | None, changed: str) -> str:
    what = changed or "Nothing changed.\n"
    names = "".join(f"  {name}\n" for name in made.files)
    return f"{what}\nWritten to {folder}:\n{names}\n{made.install}".rstrip("\n")
