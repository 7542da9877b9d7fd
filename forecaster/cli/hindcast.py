"""``forecaster hindcast``: how good past forecasts were for spraying here."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from forecaster.cli import options

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.hindcast_report import Hindcast


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("hindcast")(hindcast)


def hindcast(
    farm: Path | None = options.FARM,
    active: str = typer.Option(
        "glyphosate", "--active", help="Whose confirmed label to judge by."
    ),
    saved: Path | None = typer.Option(
        None,
        "--saved",
        help="A saved answer of Open-Meteo's previous-runs service. Default: ask it.",
        show_default=False,
    ),
    weather: Path | None = typer.Option(
        None,
        "--weather",
        help="Mapping file of what was observed. Default: the service's latest values.",
        show_default=False,
    ),
    dates: str | None = typer.Option(
        None,
        "--dates",
        help="Weed whose projected dates to score on past years instead.",
        show_default=False,
    ),
    form: str = typer.Option("text", "--format", help="text or svg."),
    plot: str = typer.Option(
        "errors", "--plot", help="With svg: errors, calls, or reliability of day 1."
    ),
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Score past forecasts by lead day: errors, hours called good, chances.

    Example:  forecaster hindcast --dates barley_grass
    """
    options.check_format(form, ("text", "svg"))
    from forecaster.errors import DataError, UsageError
    from forecaster.render import hindcast_svg, hindcast_text
    from forecaster.service.clock import utc_now
    from forecaster.service.date_hindcast import LEADS
    from forecaster.service.hindcast_view import farm_dates, farm_hindcast
    from forecaster.service.wiring import farm_at

    home = farm_at(farm)[0]
    if dates is not None and form != "text":
        raise UsageError("--dates is told as text only; leave --format out")
    if dates is not None:
        scored = farm_dates(home, dates, utc_now(), offline=offline)
        page = hindcast_text.render_dates(home.weeds[dates].name, scored, LEADS)
        options.deliver(page, out)
        return

    def day_one(found: Hindcast) -> str:
        if not any(each.lead == 1 and each.reliability for each in found.leads):
            raise DataError(
                "no chances one day ahead can be scored: the answer holds no such "
                "forecast; choose --plot errors, or a longer answer"
            )
        return hindcast_svg.reliability(found, 1)

    plots: dict[str, Callable[[Hindcast], str]] = {
        "errors": hindcast_svg.error_by_lead,
        "calls": hindcast_svg.calls_by_lead,
        "reliability": day_one,
    }
    if plot not in plots:
        raise UsageError(f"--plot {plot!r}: allowed is {', '.join(plots)}")
    found = farm_hindcast(
        home,
        active,
        utc_now(),
        saved=saved,
        mapping=weather,
        offline=offline,
    )
    draw = plots[plot] if form == "svg" else hindcast_text.render
    page = draw(found)
    options.deliver(page, out)
