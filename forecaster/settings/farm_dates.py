"""Dates typed in a farm file, held against the calendar once the day is known."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from forecaster.errors import Fault
    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import FarmFile
    from forecaster.settings.toml_positions import Path


class Happened(StrEnum):
    """What is said to have happened on a date."""

    BREAK = "autumn_break"
    SPRAYED = "sprayed"
    LABEL_READ = "read_on"


LONGEST_AGO = {Happened.BREAK: 400, Happened.SPRAYED: 200}
"""[d] after which a date belongs to an earlier season and is a line left over.
Assumed: weeds sprayed in spring are dead before the next autumn's break."""


@dataclass(frozen=True, slots=True)
class TypedDate:
    """A date and where in the file it stands."""

    what: Happened
    date: dt.date
    path: Path


def typed_dates(file: FarmFile) -> tuple[TypedDate, ...]:
    """Every date of the file that says something has happened."""
    tables: list[tuple[Path, Happened, dt.date | None]] = [
        (("season",), Happened.BREAK, file.season.autumn_break)
    ]
    for name, label in file.labels.items():
        tables.append((("labels", name), Happened.LABEL_READ, label.read_on))
    for number, paddock in enumerate(file.paddock):
        here = ("paddock", number)
        tables.append((here, Happened.BREAK, paddock.autumn_break))
        tables.append((here, Happened.SPRAYED, paddock.sprayed))
    return tuple(
        TypedDate(what, date, (*table, what))
        for table, what, date in tables
        if date is not None
    )


def faults(
    document: Document,
    dates: tuple[TypedDate, ...],
    *,
    today: dt.date,
    latest: dt.date,
) -> Iterator[Fault]:
    """Dates that cannot be, or belong to another season.

    ``today`` is the day the outlook stands on; ``latest`` is the later of that and
    the calendar, for a farm may be looked at as it was before it was sprayed.
    """
    for each in dates:
        end = today if each.what is Happened.BREAK else latest
        age = (today - each.date).days
        longest = LONGEST_AGO.get(each.what)
        if each.date > end:
            words = f"is in the future (today is {end}); correct it"
        elif longest is not None and age > longest:
            words = (
                f"is {age} days ago (today is {today}); allowed is up to {longest} "
                "days: remove it or type this season's"
            )
        else:
            continue
        yield document.fault(each.path, f"{each.what} = {each.date} {words}")
