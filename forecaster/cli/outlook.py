"""``forecaster outlook``: the weekly outlook of a farm."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from forecaster.cli import formats, options

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook
    from forecaster.domain.rig.rig_plan import RigPlan
    from forecaster.service.farm_day import FarmDay


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("outlook")(outlook)


def outlook(
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = typer.Option(
        "text",
        "--format",
        help="text, json, html, pdf, ics, csv, sms or md; with --farms no ics or sms.",
    ),
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
    farms: Path | None = typer.Option(
        None,
        "--farms",
        help="Folder whose subfolders are farms: all on one list, what presses most "
        "first.",
        show_default=False,
    ),
    plan: bool = typer.Option(
        False,
        "--plan",
        help="Put the order of the farm's rig into it, as 'forecaster plan' has it.",
    ),
) -> None:
    """Print the weekly outlook: stages, windows, good hours, what to do next.

    Example:  forecaster outlook --farm my-farm --at 2026-10-12T07:00
    """
    if farms is not None:
        other = farm or weather or ("--plan" if plan else None)
        _farms(farms, form, at, out, offline=offline, other=other)
        return
    options.check_format(form, (*options.FORMATS, "pdf", *formats.OUTLOOK))
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.service.daily import outlook as assemble

    value = assemble(day, demo=demo)
    rig = _rig(day, value) if plan else None
    if form == "pdf":
        from forecaster.render import html

        options.deliver_page(html.render(value, rig), form, value.now, out)
        return
    if form in formats.OUTLOOK:
        options.deliver(formats.outlook_as(form, value, rig), out)
        return
    if form == "json":
        from forecaster.render import json

        options.deliver(json.render(value, rig), out)
        return
    from forecaster.render import screen, text

    if out is None:
        with options.printing():
            screen.show(text.lines(value, rig))
    else:
        options.deliver(text.render(value, rig), out)


def _rig(day: FarmDay, value: Outlook) -> RigPlan:
    from forecaster.service.rig.wiring import plan_for

    return plan_for(day, value)


def _farms(
    folder: Path,
    form: str,
    at: str | None,
    out: Path | None,
    *,
    offline: bool,
    other: Path | str | None,
) -> None:
    """Many farms on one list."""
    from forecaster.errors import UsageError

    if other is not None:
        raise UsageError(
            f"{other} does not go with --farms: each farm in that folder has its own "
            "file and weather; take --farm, --weather or --plan away (forecaster plan "
            "--farms is one plan for all)"
        )
    options.check_format(form, formats.FARMS)
    from forecaster.service.farms import all_farms

    value = all_farms(folder, at, offline=offline)
    options.deliver(formats.farms_as(form, value), out)
