"""``forecaster stock``: when stock must leave a paddock, and what a mob does to it."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("stock")(stock)


def _number(name: str, words: str) -> float | None:
    option: float | None = typer.Option(None, name, help=words, show_default=False)
    return option


def stock(
    paddock: str = typer.Argument(help="Name of the paddock."),
    dse: float | None = _number(
        "--dse", "Size of the mob in DSE. Default: the mobs typed as there today."
    ),
    feed: float | None = _number("--feed", "Feed on offer now, kg DM/ha."),
    leave: float | None = _number("--leave", "Feed to be left, kg DM/ha."),
    growth: float | None = _number(
        "--growth", "What grows meanwhile, kg DM/ha a day. Default: nothing."
    ),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say when stock must leave a paddock, and what a mob does to it until then.

    Example:  forecaster stock "Lone Gum" --dse 2170 --feed 1500 --leave 800 --growth 25
    """
    options.check_format(form)
    from forecaster.service.mob_plan import Asked, mob_plan

    asked = Asked(dse, feed, leave, growth)
    day, _ = options.load(farm, at, weather, offline=offline)
    from forecaster.render import mob_text
    from forecaster.render.json import dumps
    from forecaster.service.wiring import chosen

    plan = mob_plan(day, chosen(day, paddock, None)[0], asked)
    if form == "json":
        options.deliver(dumps(mob_text.tree(plan)), out)
    else:
        options.deliver(mob_text.render(plan, day.weather.place.zone), out)
