"""``forecaster feed``: what spraying costs of the feed, and when it runs short."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("feed")(feed)


def feed(
    spray: list[str] = typer.Option(
        [],
        "--spray",
        help="A paddock to be sprayed, once for each. Default: those the choice is not "
        "against.",
        show_default=False,
    ),
    farm: Path | None = options.FARM,
    at: str | None = options.AT,
    weather: Path | None = options.WEATHER,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
    offline: bool = options.OFFLINE,
) -> None:
    """Say what spraying costs of the farm's feed, and when feed runs short.

    Example:  forecaster feed --spray "Creek Flat" --spray Woolshed
    """
    options.check_format(form)
    day, demo = options.load(farm, at, weather, offline=offline)
    from forecaster.render import feed_text
    from forecaster.render.json import dumps
    from forecaster.service.advice import advice
    from forecaster.service.feed_view import NO_SPRAY, feed_plan
    from forecaster.service.stock_view import today
    from forecaster.service.wiring import paddock_called

    known = day.farm
    chosen = (
        tuple(dict.fromkeys(paddock_called(known, each).name for each in spray))
        if spray
        else tuple(
            each.name
            for each in known.paddocks
            if each.sprayed is None and advice(day, each).choice.answer not in NO_SPRAY
        )
    )
    plan = feed_plan(
        known, today(day), tuple(each for each in known.paddocks if each.name in chosen)
    )
    currency = known.prices.currency
    if form == "json":
        options.deliver(dumps(feed_text.tree(plan, currency, demo=demo)), out)
    else:
        options.deliver(feed_text.render(plan, currency, demo=demo), out)
