"""``forecaster boom``: how high, how much through each nozzle, how many tanks."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("boom")(boom)


def _number(name: str, words: str) -> float | None:
    option: float | None = typer.Option(None, name, help=words, show_default=False)
    return option


def boom(
    paddock: str | None = typer.Argument(
        None, help="Name of the paddock, for its hectares.", show_default=False
    ),
    spacing: float = typer.Option(..., "--spacing", help="Between nozzles, cm."),
    angle: float | None = _number("--angle", "Fan angle of the nozzles, degrees."),
    heads: float | None = _number("--heads", "Height of the heads, cm."),
    volume: float | None = _number("--volume", "Litres a hectare."),
    speed: float | None = _number("--speed", "Speed, km/h."),
    flow: float | None = _number("--flow", "Litres a minute of one nozzle."),
    tank: float | None = _number("--tank", "Litres the tank holds."),
    hectares: float | None = _number("--hectares", "To spray. Default: PADDOCK's."),
    active: str | None = typer.Option(
        None, "--active", help="Whose label to hold it against.", show_default=False
    ),
    farm: Path | None = options.FARM,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
) -> None:
    """Work out boom height for double overlap at the heads, nozzles and tanks.

    Example:  forecaster boom House --spacing 50 --angle 110 --heads 60
    """
    options.check_format(form)
    from forecaster.render import boom_text
    from forecaster.render.json import dumps
    from forecaster.service.boom_plan import Asked, boom_plan
    from forecaster.service.wiring import farm_at, paddock_called

    known, _ = farm_at(farm)
    if paddock is not None and hectares is None:
        hectares = paddock_called(known, paddock).hectares
    asked = Asked(spacing, angle, heads, volume, speed, flow, tank, hectares)
    plan = boom_plan(known, asked, active)
    if form == "json":
        options.deliver(dumps(boom_text.tree(plan)), out)
    else:
        options.deliver(boom_text.render(plan), out)
