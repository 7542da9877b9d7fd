"""``forecaster check``: one check of a farm, and the messages it leads to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from forecaster.cli import options

if TYPE_CHECKING:
    from forecaster.service.alerts.check import Result


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("check")(check)


def check(
    farm: Path | None = options.FARM,
    deliver: bool = typer.Option(
        False, "--deliver", help="Only hand over messages that are due."
    ),
    offline: bool = options.OFFLINE,
) -> None:
    """Look at every window once; tell people what changed. For a timer to run.

    Example:  forecaster check --farm my-farm
    """
    from forecaster.errors import UsageError
    from forecaster.service.alerts.farm_check import check_farm, deliver_farm
    from forecaster.service.clock import utc_now
    from forecaster.settings.farm import FARM_FILE

    folder = farm or Path()
    if farm is None and not (folder / FARM_FILE).is_file():
        raise UsageError(
            "check keeps a state beside the farm file and the demo has none; name a "
            "farm with --farm DIR, or make one with 'forecaster init DIR'"
        )
    if deliver:
        result = deliver_farm(folder, utc_now)
    else:
        result = check_farm(folder, utc_now, offline=offline)
    with options.printing():
        typer.echo(_words(result))
    raise typer.Exit(result.exit)


def _words(result: Result) -> str:
    counts = ", ".join(
        f"{number} {name}" for name, number in result.counts.items() if number
    )
    age = result.weather_age_h
    weather = "" if age != age else f"; weather {age:.0f} h old"  # noqa: PLR0124 - NaN
    why = f"; {'; '.join(result.wanting)}" if result.wanting else ""
    return f"check {result.run}: {counts or 'nothing due'}{weather}{why}"
