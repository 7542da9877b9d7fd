"""What ``forecaster look`` can do: record, enter a sheet, list, advise, take back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from forecaster.cli import modes, options
from forecaster.errors import UsageError
from forecaster.service.look_words import EXAMPLE

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from forecaster.domain.growth.look_log import LookEntry
    from forecaster.service.look_count import Prepared
    from forecaster.service.look_log import Recorded
    from forecaster.service.look_words import Asked
    from forecaster.settings.farm import Farm

RECORD = "a count"
_WITH = {
    RECORD: {"PADDOCK", "counts", "--weed", "--on", "--by", "--note", "--photo"},
    "--from": {"--by"},
    "--sheet": {"--out"},
    "--list": {"PADDOCK", "--format", "--out"},
    "--advise": {"--at", "--offline", "--format", "--out"},
    "--withdraw": {"--because", "--by"},
}
"""What may stand beside each."""


def mode_of(asked: Asked, given: set[str]) -> str:
    """Which of them a command line asks for.

    Raises
    ------
    UsageError
        If it asks for two at once, or holds what does not belong there.
    """
    values = {
        "PADDOCK": asked.paddock is not None,
        "counts": bool(asked.counts),
        "--weed": asked.weed is not None,
        "--on": asked.on is not None,
        "--by": asked.by is not None,
        "--note": bool(asked.note),
        "--photo": bool(asked.photo),
    }
    named = given | {name for name, is_given in values.items() if is_given}
    mode = modes.chosen(named, _WITH)
    if mode == RECORD and asked.paddock is None:
        raise UsageError(f"which paddock? Name it, such as:  {EXAMPLE}")
    return mode


def write_down(folder: Path | None, asked: Asked, *, ask: bool) -> None:
    """Record one line of counts, or ask for them on a terminal."""
    from forecaster.service.farm_sprayed import with_sprays
    from forecaster.service.look_dates import Present
    from forecaster.service.look_log import record
    from forecaster.service.look_words import looks_of
    from forecaster.service.own_log import own_farm

    farm = with_sprays(own_farm(_farm(folder), "looks"))
    present = Present.of(farm)
    if asked.counts:
        _say(farm, record(farm, looks_of(asked, farm, present)))
        return
    if not ask:
        raise UsageError(
            f"no counts are given, and there is no terminal to ask on; such as:  "
            f"{EXAMPLE}"
        )
    from forecaster.cli.look_questions import looks_asked_for

    for look in looks_asked_for(asked, farm, present):
        _say(farm, record(farm, [look]))


def enter_sheet(folder: Path | None, path: Path, by: str | None) -> None:
    """Record every look of a filled-in sheet, or none."""
    from forecaster.service.farm_sprayed import with_sprays
    from forecaster.service.look_dates import Present
    from forecaster.service.look_log import record
    from forecaster.service.look_sheet import read_filled
    from forecaster.service.own_log import own_farm

    farm = with_sprays(own_farm(_farm(folder), "looks"))
    filled = read_filled(path, farm, Present.of(farm), by)
    if not filled.looks:
        raise UsageError(f"{path}: no row holds a count; nothing was recorded")
    done = record(farm, filled.looks)
    _say(farm, done, one=False)
    told = f"{len(done.new)} recorded, {len(done.known)} in the log already"
    skipped = f"; {filled.empty} rows hold no count" if filled.empty else ""
    _bullets([f"{path}: {told}{skipped}", *filled.twice])


def show_sheet(folder: Path | None, out: Path | None) -> None:
    """Print a sheet to fill in."""
    from forecaster.service.look_sheet import empty_sheet

    options.deliver(empty_sheet(_farm(folder)), out)


def show_log(
    folder: Path | None, paddock: str | None, form: str, out: Path | None
) -> None:
    """Print the log."""
    options.check_format(form)
    from forecaster.render import look_log_text
    from forecaster.render.json import dumps
    from forecaster.render.words import LocalClock
    from forecaster.service.look_log import listed

    farm = _farm(folder)
    log = listed(farm, paddock)
    if form == "json":
        options.deliver(dumps(look_log_text.tree(log)), out)
        return
    names = {weed.id: weed.name for weed in farm.weeds.values()}
    options.deliver(look_log_text.listing(log, names, LocalClock(farm.place.zone)), out)


def advise(
    folder: Path | None, at: str | None, form: str, out: Path | None, *, offline: bool
) -> None:
    """Say which paddock and weed to count next, and how many heads."""
    options.check_format(form)
    day, _ = options.load(folder, at, None, offline=offline)
    from forecaster.render import look_advice_text
    from forecaster.render.json import dumps
    from forecaster.service.look_advice import look_advice, second_looks

    farm, advice, again = day.farm.name, look_advice(day), second_looks(day)
    if form == "json":
        told = dumps(look_advice_text.tree(farm, advice, again))
    else:
        told = look_advice_text.render(farm, advice, again)
    options.deliver(told, out)


def take_back(
    folder: Path | None, look: str, because: str | None, by: str | None
) -> None:
    """Withdraw a look."""
    from forecaster.service.clock import utc_now
    from forecaster.service.look_log import withdraw

    farm = _farm(folder)
    entry = withdraw(farm, look, because=because, by=by, now=utc_now())
    with options.printing():
        typer.echo(f"Withdrawn {entry.look.id}; it stays in the log.")
        typer.echo("\n".join(_understood(farm, entry)))


def _farm(folder: Path | None) -> Farm:
    from forecaster.service.wiring import farm_at

    return farm_at(folder)[0]


def _say(farm: Farm, done: Recorded, *, one: bool = True) -> None:
    """What was written down, as it was understood.

    Of one look it is also said how to record it all the same.
    """
    with options.printing():
        for look in done.new:
            typer.echo(f"Recorded {look.entry.look.id}")
            typer.echo("\n".join(_understood(farm, look.entry)))
            _bullets(look.remarks)
        for entry in done.known:
            typer.echo(f"Already in the log, nothing was added: {entry.look.id}")
            _bullets(_why_known(entry) if one else ())
    for warning in done.warnings:
        typer.echo(f"forecaster: {warning}", err=True)


def _understood(farm: Farm, entry: LookEntry) -> list[str]:
    from forecaster.render.look_log_text import understood
    from forecaster.render.words import LocalClock

    weed = farm.weeds.get(entry.look.weed)
    name = entry.look.weed if weed is None else weed.name
    enough = farm.look_numbers.enough
    return understood(entry.look, name, LocalClock(farm.place.zone), enough)


def _why_known(entry: LookEntry) -> list[str]:
    gone = entry.withdrawn
    if gone is None:
        again = "If this is a second count of that day"
    else:
        again = f"It was withdrawn by {gone.author}: {gone.reason}. To record it again"
    return [f"{again}, give its time, such as --on {entry.look.id[:10]}T15:00"]


def _bullets(texts: Iterable[str]) -> None:
    from forecaster.render.words import bullet

    for text in texts:
        typer.echo("\n".join(bullet(text)))


def confirmed(look: Prepared, farm: Farm) -> bool:
    """Show what was understood and ask whether it is right."""
    typer.echo("\n".join(_understood(farm, look.entry)))
    _bullets(look.remarks)
    return typer.confirm("Is that right?", default=True)
