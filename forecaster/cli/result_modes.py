"""What ``forecaster result`` can do: compare, list what was kept, take it back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from forecaster.cli import modes, options
from forecaster.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.service.result_words import AskedResult

COMPARE = "a comparison"
EXAMPLE = 'forecaster result "Creek Flat" --treated 3,0,2 --untreated 41,38,52'
_WITH = {
    COMPARE: {
        "PADDOCK", "--treated", "--untreated", "--side", "--year", "--weed", "--active",
        "--stage", "--control", "--uneven", "--rain", "--save", "--format", "--out",
    },
    "--list": {"PADDOCK", "--format", "--out"},
    "--withdraw": {"--because", "--by"},
}  # fmt: skip
"""What may stand beside each."""


def mode_of(named: set[str]) -> str:
    """Which of them a command line asks for.

    Raises
    ------
    UsageError
        If it asks for two at once, holds what does not belong there, or lacks what
        a comparison needs.
    """
    mode = modes.chosen(named, _WITH)
    needed = ("PADDOCK", "--treated", "--untreated") if mode == COMPARE else ()
    missing = [each for each in needed if each not in named]
    if missing:
        raise UsageError(f"missing: {', '.join(missing)}; such as:  {EXAMPLE}")
    return mode


def compare(
    folder: Path | None,
    paddock: str,
    asked: AskedResult,
    *,
    keep: bool,
    form: str,
    out: Path | None,
) -> None:
    """Hold two strips against each other and against trials; keep it where asked."""
    options.check_format(form)
    from forecaster.render import result_json, result_text
    from forecaster.render.json import dumps
    from forecaster.service.result import result
    from forecaster.service.result_log import save
    from forecaster.service.wiring import farm_at

    farm, demo = farm_at(folder)
    page = result(farm, paddock, asked, demo=demo)
    kept = save(farm, page, asked.weed) if keep else None
    if form == "json":
        options.deliver(dumps(result_json.tree(page)), out)
    else:
        options.deliver(result_text.render(page), out)
    if kept is not None:
        typer.echo(f"kept in {kept}", err=True)


def show_log(
    folder: Path | None, paddock: str | None, form: str, out: Path | None
) -> None:
    """Print the results that were kept."""
    options.check_format(form)
    from forecaster.render import result_log_text
    from forecaster.render.json import dumps
    from forecaster.render.words import LocalClock
    from forecaster.service.result_log import listed
    from forecaster.service.wiring import farm_at

    farm, _ = farm_at(folder)
    log = listed(farm, paddock)
    if form == "json":
        options.deliver(dumps(result_log_text.tree(log)), out)
        return
    names = {weed.id: weed.name for weed in farm.weeds.values()}
    clock = LocalClock(farm.place.zone)
    options.deliver(result_log_text.listing(log, names, clock), out)


def take_back(
    folder: Path | None, number: int, because: str | None, by: str | None
) -> None:
    """Withdraw a result."""
    from forecaster.render.result_log_text import heading
    from forecaster.service.clock import utc_now
    from forecaster.service.result_log import withdraw
    from forecaster.service.wiring import farm_at

    farm, _ = farm_at(folder)
    gone = withdraw(farm, number, because=because, by=by, now=utc_now())
    names = {weed.id: weed.name for weed in farm.weeds.values()}
    with options.printing():
        typer.echo(f"Withdrawn result {number}; it stays in the log.")
        typer.echo("\n".join(heading(gone, names)))
