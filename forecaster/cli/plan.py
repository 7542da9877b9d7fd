"""``forecaster plan``: paddocks on the good hours of one rig or several."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("plan")(plan)


def plan(
    farm: Path | None = options.FARM,
    farms: Path | None = typer.Option(
        None,
        "--farms",
        help="Folder whose subfolders are farms: all in one plan, with the road "
        "between them.",
        show_default=False,
    ),
    rigs: int | None = typer.Option(
        None,
        "--rigs",
        help="Number of rigs like the first one typed. Default: the rigs typed.",
        show_default=False,
    ),
    days: int | None = typer.Option(
        None,
        "--days",
        help="Plan no further than so many days. Default: all hours judged.",
        show_default=False,
    ),
    split: float = typer.Option(
        60.0,
        "--split",
        help="Larger paddocks may be done in equal parts of at most so many hectares; "
        "0 keeps them whole.",
    ),
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Put paddocks on the good hours of a rig: what first, what is missed, what if.

    Example:  forecaster plan --rigs 2
    """
    options.check_format(form)
    from forecaster.errors import UsageError
    from forecaster.service.rig import wiring

    if farms is not None:
        if farm or weather:
            raise UsageError(
                f"{farm or weather} does not go with --farms: each farm in that folder "
                "has its own file and weather; take --farm or --weather away"
            )
        value = wiring.plan_of_farms(
            farms, at, offline=offline, rigs=rigs, days=days, largest=split
        )
    else:
        wiring.check(rigs, days, split)
        day, demo = options.load(farm, at, weather, offline=offline)
        value = wiring.plan_of(day, demo=demo, rigs=rigs, days=days, largest=split)
    from forecaster.render import rig_json, rig_text
    from forecaster.render.json import dumps

    said = rig_text.render(value) if form == "text" else dumps(rig_json.tree(value))
    options.deliver(said, out)
