"""``forecaster result``: whether the spray of last spring worked."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("result")(result)


def _text(name: str, words: str) -> str | None:
    option: str | None = typer.Option(None, name, help=words, show_default=False)
    return option


def _flag(names: str, words: str) -> bool | None:
    option: bool | None = typer.Option(None, names, help=words, show_default=False)
    return option


def result(
    paddock: str = typer.Argument(help="Name of the paddock."),
    treated: str = typer.Option(
        ..., "--treated", help="Seedlings in each square where it was sprayed: 3,0,2"
    ),
    untreated: str = typer.Option(
        ..., "--untreated", help="Likewise in the strip left unsprayed: 41,38"
    ),
    side: float = typer.Option(25.0, "--side", help="Side of the square, cm."),
    year: int | None = typer.Option(
        None,
        "--year",
        help="Year of the spray. Default: last year.",
        show_default=False,
    ),
    weed: str | None = _text("--weed", "Default: the one that matters most there."),
    active: str | None = _text("--active", "What was sprayed, such as glyphosate."),
    stage: str | None = _text("--stage", "Stage of most heads at the spray."),
    control: str | None = _text(
        "--control",
        "Per cent of seed it should have prevented, 90 or 80-95. Default: from trials.",
    ),
    uneven: bool | None = _flag(
        "--uneven/--even", "Whether the heads were uneven at the spray."
    ),
    rain: bool | None = _flag(
        "--rain/--no-rain", "Whether rain fell in the label's rain-free hours."
    ),
    keep: bool = typer.Option(
        False, "--save", help="Keep it in results.jsonl of the farm's folder."
    ),
    farm: Path | None = options.FARM,
    form: str = options.FORMAT,
    out: Path | None = options.OUT,
) -> None:
    """Compare seedlings in a sprayed and an unsprayed strip, and with what trials say.

    Example:  forecaster result "Creek Flat" --treated 3,0,2 --untreated 41,38,52
    """
    options.check_format(form)
    from forecaster.render import result_json, result_text
    from forecaster.render.json import dumps
    from forecaster.service import result as results
    from forecaster.service.result_words import AskedResult
    from forecaster.service.wiring import farm_at

    loaded, _ = farm_at(farm)
    asked = AskedResult(
        treated, untreated, side, year, weed, active, stage, control, uneven, rain
    )
    page = results.result(loaded, paddock, asked)
    kept = results.save(loaded, page, weed) if keep else None
    if form == "json":
        options.deliver(dumps(result_json.tree(page)), out)
    else:
        options.deliver(result_text.render(page), out)
    if kept is not None:
        typer.echo(f"kept in {kept}", err=True)
