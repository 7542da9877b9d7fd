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
    paddock: str | None = typer.Argument(
        None, help="Name of the paddock.", show_default=False
    ),
    treated: str | None = _text(
        "--treated", "Seedlings in each square where it was sprayed: 3,0,2"
    ),
    untreated: str | None = _text(
        "--untreated", "Likewise in the strip left unsprayed: 41,38"
    ),
    side: float | None = typer.Option(
        None, "--side", help="Side of the square, cm. Default: 25.", show_default=False
    ),
    year: int | None = typer.Option(
        None,
        "--year",
        help="Year of the spray. Default: last year.",
        show_default=False,
    ),
    weed: str | None = _text("--weed", "Default: the one that matters most there."),
    active: str | None = _text(
        "--active", "What was sprayed. Default: that of the spray record."
    ),
    stage: str | None = _text(
        "--stage", "Stage of most heads at the spray. Default: that of the record."
    ),
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
    listing: bool = typer.Option(
        False, "--list", help="Print what was kept, withdrawn results too."
    ),
    withdraw: int | None = typer.Option(
        None, "--withdraw", help="Number of a result to take back.", show_default=False
    ),
    because: str | None = _text("--because", "Why it is taken back."),
    by: str | None = _text(
        "--by", "Who takes it back. Default: your name on this computer."
    ),
    farm: Path | None = options.FARM,
    form: str | None = typer.Option(
        None, "--format", help="text or json. Default: text.", show_default=False
    ),
    out: Path | None = options.OUT,
) -> None:
    """Compare seedlings in a sprayed and an unsprayed strip, and with what trials say.

    Example:  forecaster result "Creek Flat" --treated 3,0,2 --untreated 41,38,52
    """
    from forecaster.cli import result_modes as modes
    from forecaster.service.result_words import SIDE_CM, AskedResult

    given = {
        "PADDOCK": paddock, "--treated": treated, "--untreated": untreated,
        "--side": side, "--year": year, "--weed": weed, "--active": active,
        "--stage": stage, "--control": control, "--uneven": uneven, "--rain": rain,
        "--save": keep or None, "--list": listing or None, "--withdraw": withdraw,
        "--because": because, "--by": by, "--format": form, "--out": out,
    }  # fmt: skip
    mode = modes.mode_of({name for name, said in given.items() if said is not None})
    if mode == "--list":
        modes.show_log(farm, paddock, form or "text", out)
        return
    if mode == "--withdraw":
        modes.take_back(farm, int(str(withdraw)), because, by)
        return
    asked = AskedResult(
        str(treated), str(untreated), SIDE_CM if side is None else side, year, weed,
        active, stage, control, uneven, rain,
    )  # fmt: skip
    modes.compare(farm, str(paddock), asked, keep=keep, form=form or "text", out=out)
