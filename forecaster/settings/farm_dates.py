"""Dates typed in a farm file, held against the calendar once the day is known."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
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
    FROM = "from"
    UNTIL = "until"
    SOWN = "perennials_sown"


LONGEST_AGO = {
    Happened.BREAK: 400,
    Happened.SPRAYED: 200,
    Happened.FROM: 400,
    Happened.UNTIL: 400,
}
"""[d] after which a date belongs to an earlier season and is a line left over.
Assumed: weeds sprayed in spring are dead before the next autumn's break."""
PLANNED_AHEAD = 366
"""[d] for which a mob's stay may be planned. Assumed: a year is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class TypedDate:
    """A date and where in the file it stands."""

    what: Happened
    date: dt.date
    path: Path
    ahead: int = 0
    """[d] by which it may lie in the future."""


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
        sward = (*here, "sward")
        tables.append((sward, Happened.SOWN, paddock.sward.perennials_sown))
        for place, grazed in enumerate(paddock.grazed):
            within = (*here, "grazed", place)
            tables.append((within, Happened.FROM, grazed.start))
            tables.append((within, Happened.UNTIL, grazed.until))
    happened = tuple(
        TypedDate(what, date, (*table, what))
        for table, what, date in tables
        if date is not None
    )
    return happened + tuple(_stays(file))


def _stays(file: FarmFile) -> Iterator[TypedDate]:
    """Dates of mobs, which may be plans."""
    for number, mob in enumerate(file.mob):
        for place, stay in enumerate(mob.stay):
            for what, date in (
                (Happened.FROM, stay.start),
                (Happened.UNTIL, stay.until),
            ):
                path = ("mob", number, "stay", place, what)
                yield TypedDate(what, date, path, PLANNED_AHEAD)


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
        end += dt.timedelta(days=each.ahead)
        age = (today - each.date).days
        longest = LONGEST_AGO.get(each.what)
        if each.date > end:
            words = (
                f"is more than {each.ahead} days ahead (today is {today}); correct it"
                if each.ahead
                else f"is in the future (today is {end}); correct it"
            )
        elif longest is not None and age > longest:
            words = (
                f"is {age} days ago (today is {today}); allowed is up to {longest} "
                "days: remove it or type this season's"
            )
        else:
            continue
        yield document.fault(each.path, f"{each.what} = {each.date} {words}")
