"""``forecaster snooze``: quiet about a paddock for a few days."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("snooze")(snooze)


def snooze(
    paddock: str | None = typer.Argument(
        None, help="Name of the paddock.", show_default=False
    ),
    active: str | None = typer.Option(
        None, "--active", help="Only of this active. Default: all.", show_default=False
    ),
    days: int | None = typer.Option(
        None, "--days", help="For so many days of 24 hours, 1 to 7.", show_default=False
    ),
    until: str | None = typer.Option(
        None,
        "--until",
        help="Until then, such as 2026-10-20T06:00 on the farm's clock; at most 7 "
        "days off.",
        show_default=False,
    ),
    by: str | None = typer.Option(
        None,
        "--by",
        help="Who asks. Default: your name on this computer.",
        show_default=False,
    ),
    listing: bool = typer.Option(False, "--list", help="Show those in force."),
    end: bool = typer.Option(False, "--end", help="End the one in force."),
    farm: Path | None = options.FARM,
) -> None:
    """Ask for quiet about a paddock; what is closing is told all the same.

    Example:  forecaster snooze "Creek Flat" --days 3 --farm my-farm
    """
    from forecaster.errors import UsageError
    from forecaster.render import snooze_text
    from forecaster.service.alerts import snoozing
    from forecaster.service.clock import utc_now
    from forecaster.service.program import own_farm
    from forecaster.settings.farm import load_farm

    loaded, now = load_farm(own_farm(farm, "snooze")), utc_now()
    zone = loaded.place.zone
    if listing:
        if paddock is not None or end or days is not None or until is not None:
            raise UsageError("--list stands alone; see --help")
        found = [(each.snooze, each.paddock) for each in snoozing.listed(loaded, now)]
        return options.deliver(snooze_text.listing(found, zone), None)
    if paddock is None:
        raise UsageError('which paddock? forecaster snooze "Creek Flat" --days 3')
    asked = snoozing.Asked(paddock, active, days, until, by)
    if end:
        if days is not None or until is not None:
            raise UsageError("--end ends it now; leave out --days and --until")
        ended = [(q.snooze, q.paddock) for q in snoozing.end(loaded, asked, now)]
        return options.deliver(snooze_text.ended(ended), None)
    quiet = snoozing.snooze(loaded, asked, now)
    text = snooze_text.made(quiet.snooze, quiet.paddock, quiet.odd, zone)
    return options.deliver(text, None)
