"""What ``forecaster record`` can do: write, correct, withdraw, verify, list, print."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from forecaster.cli import modes, options
from forecaster.errors import DataError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from forecaster.domain.record.log import Entry
    from forecaster.service.record_log import Written
    from forecaster.settings.farm import Farm

RECORD = "a record"
_WITH = {
    RECORD: {"words", "--wind", "--tank", "--by"},
    "--verify": set[str](),
    "--list": {"words", "--format", "--out"},
    "--page": {"--format", "--out"},
    "--withdraw": {"--because", "--by"},
    "--correct": {"words", "--wind", "--tank", "--because", "--by"},
    "--sheet": {"--by"},
}
"""What may stand beside each."""


def mode_of(named: set[str]) -> str:
    """Which of them a command line asks for.

    Raises
    ------
    UsageError
        If it asks for two at once, or holds what does not belong there.
    """
    from forecaster.service.record_words import EXAMPLE

    mode = modes.chosen(named, _WITH)
    if mode == RECORD and "words" not in named:
        raise UsageError(f"what was sprayed? Such as:  {EXAMPLE}")
    return mode


def write_down(
    folder: Path | None,
    words: list[str],
    winds: list[str],
    tanks: list[str],
    by: str | None,
) -> None:
    """Record one job."""
    from forecaster.service.look_dates import Present
    from forecaster.service.own_log import own_farm
    from forecaster.service.record_log import write
    from forecaster.service.record_words import asked_line, job_asked

    farm = own_farm(_farm(folder), "records")
    present = Present.of(farm)
    job = job_asked(asked_line(words, winds, tanks), farm, present)
    _say(farm, write(farm, [job], by, present))


def enter_sheet(folder: Path | None, path: Path, by: str | None) -> None:
    """Record every job of a sheet, or none."""
    from forecaster.service.look_dates import Present
    from forecaster.service.own_log import own_farm
    from forecaster.service.record_log import write
    from forecaster.service.record_sheet import jobs_of_sheet

    farm = own_farm(_farm(folder), "records")
    present = Present.of(farm)
    _say(farm, write(farm, jobs_of_sheet(path, farm, present), by, present))


def put_right(
    folder: Path | None,
    number: int,
    told: tuple[list[str], list[str], list[str]],
    because: str | None,
    by: str | None,
) -> None:
    """Correct a record."""
    from forecaster.service.look_dates import Present
    from forecaster.service.own_log import own_farm
    from forecaster.service.record_log import correct
    from forecaster.service.record_words import asked_changes

    farm = own_farm(_farm(folder), "records")
    present = Present.of(farm)
    asked = asked_changes(*told)
    done = correct(farm, number, asked, because=because, by=by, present=present)
    _say(farm, done)


def take_back(
    folder: Path | None, number: int, because: str | None, by: str | None
) -> None:
    """Withdraw a record."""
    from forecaster.service.clock import utc_now
    from forecaster.service.record_log import withdraw

    farm = _farm(folder)
    gone = withdraw(farm, number, because=because, by=by, now=utc_now())
    with options.printing():
        typer.echo(
            f"Withdrawn record {gone.number}, {gone.now.job.paddock}; it stays in the "
            "log and does not count any more."
        )


def check_links(folder: Path | None) -> None:
    """Follow the chain.

    Raises
    ------
    DataError
        Naming the first broken link.
    """
    from forecaster.render.words import count
    from forecaster.service.farm_sprayed import of_other_farms, records_path
    from forecaster.store.records import read_records, verified

    farm = _farm(folder)
    path = records_path(farm)
    chain = verified(path)
    known = ", ".join(map(str, chain.known))
    entries = count(chain.entries, "entry", "entries")
    if chain.line:
        raise DataError(
            f"{path}: line {chain.line} {chain.fault}. {entries} before it stand as "
            "they were written; compare with a copy"
        )
    with options.printing():
        typer.echo(f"{path}: {entries}, every link holds.")
        if known:
            typer.echo(f"Damaged and named as such by the entry after it: line {known}")
        typer.echo(f"Hash of the last line, to keep elsewhere: {chain.last_hash}")
    _warn(of_other_farms(read_records(path), farm))


def show(folder: Path | None, words: list[str], form: str, out: Path | None) -> None:
    """Print the log, or the season as CSV."""
    options.check_format(form, ("text", "json", "csv"))
    from forecaster.render import record_table, record_text
    from forecaster.render.json import dumps
    from forecaster.service.clock import utc_now
    from forecaster.service.record_log import log_of, of_season
    from forecaster.service.record_view import records_view

    if len(words) > 1:
        raise UsageError(f"--list takes one paddock; {len(words)} words are given")
    farm = _farm(folder)
    now, log = utc_now(), log_of(farm, words[0] if words else None)
    if form == "csv":
        table = record_table.render(records_view(farm, of_season(log, farm, now), now))
        options.deliver(table, out)
        _warn(log.warnings)
        return
    view = records_view(farm, log, now)
    if form == "json":
        options.deliver(dumps(record_text.tree(view)), out)
    else:
        options.deliver(record_text.listing(view), out)
    _warn(log.warnings)


def show_page(folder: Path | None, paddock: str, form: str, out: Path | None) -> None:
    """Print one paddock's records."""
    options.check_format(form, ("html", "pdf"))
    from forecaster.render import record_html
    from forecaster.service.clock import utc_now
    from forecaster.service.record_log import log_of
    from forecaster.service.record_view import records_view

    farm = _farm(folder)
    now, log = utc_now(), log_of(farm, paddock)
    name = log.records[-1].now.job.paddock if log.records else paddock
    html = record_html.render(records_view(farm, log, now), name)
    options.deliver_page(html, form, now, out)


def _farm(folder: Path | None) -> Farm:
    from forecaster.service.wiring import farm_at

    return farm_at(folder)[0]


def _say(farm: Farm, done: Written) -> None:
    """What was written down as it was understood, what is missing, what comes after."""
    with options.printing():
        for entry in done.new:
            _told(farm, entry)
        for entry in done.known:
            typer.echo(
                f"Already in the log as record {entry.number}, nothing was added; to "
                f"change it: --correct {entry.number} field=value"
            )
        _bullets(done.remarks)
    _warn(done.warnings)


def _told(farm: Farm, entry: Entry) -> None:
    from forecaster.render.record_text import told
    from forecaster.render.words import LocalClock
    from forecaster.service.record_log import log_of
    from forecaster.service.record_view import records_view

    view = records_view(farm, log_of(farm), entry.recorded)
    for each in view.records:
        if each.record.holds(entry.number):
            typer.echo("\n".join(told(each, view.rules, LocalClock(view.zone))))


def _bullets(texts: Iterable[str]) -> None:
    from forecaster.render.words import bullet

    for text in texts:
        typer.echo("\n".join(bullet(text)))


def _warn(warnings: Iterable[str]) -> None:
    for warning in warnings:
        typer.echo(f"forecaster: {warning}", err=True)
