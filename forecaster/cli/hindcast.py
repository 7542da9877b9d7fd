"""``forecaster hindcast``: how good past forecasts were for spraying here."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from forecaster.cli import options

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.hindcast_report import Hindcast
    from forecaster.settings.farm import Farm


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
    kept: Path | None = typer.Option(
        None,
        "--kept",
        help="Folder of forecasts the farm kept (weather.keep_forecasts) to replay "
        "instead.",
        show_default=False,
    ),
    weather: Path | None = typer.Option(
        None,
        "--weather",
        help="Mapping file of what was observed. Default: with --kept the farm's "
        "station, else the service's latest values.",
        show_default=False,
    ),
    errors: Path | None = typer.Option(
        None,
        "--errors",
        help="Also write the errors found to this file, for weather.errors.",
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
    from forecaster.errors import UsageError
    from forecaster.service.clock import utc_now
    from forecaster.service.hindcast_view import errors_page, farm_hindcast
    from forecaster.service.wiring import farm_at

    if saved is not None and kept is not None:
        raise UsageError("--saved and --kept are two ways; leave one out")
    home = farm_at(farm)[0]
    if dates is not None:
        if form != "text" or errors is not None:
            raise UsageError(
                "--dates is told as text only; leave --format and --errors out"
            )
        options.deliver(_dates_page(home, dates, offline=offline), out)
        return
    draw = _drawing(form, plot)
    if errors is not None and weather is None and kept is None:
        raise UsageError(
            "--errors needs what was observed here; name its mapping file with "
            "--weather: a service's own values tell nothing of its error"
        )
    found = farm_hindcast(
        home,
        active,
        utc_now(),
        saved=saved,
        kept=kept,
        mapping=weather,
        offline=offline,
    )
    page = draw(found)
    if errors is not None:
        options.deliver(errors_page(found), errors)
    options.deliver(page, out)


def _dates_page(home: Farm, weed: str, *, offline: bool) -> str:
    """Projected dates scored on past years."""
    from forecaster.render import hindcast_text
    from forecaster.service.clock import utc_now
    from forecaster.service.date_hindcast import LEADS
    from forecaster.service.hindcast_view import farm_dates

    scored = farm_dates(home, weed, utc_now(), offline=offline)
    return hindcast_text.render_dates(home.weeds[weed].name, scored, LEADS)


def _drawing(form: str, plot: str) -> Callable[[Hindcast], str]:
    """What makes the page.

    Raises
    ------
    UsageError
        If the plot is unknown.
    """
    from forecaster.errors import DataError, UsageError
    from forecaster.render import hindcast_svg, hindcast_text

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
    return plots[plot] if form == "svg" else hindcast_text.render
