"""The words of one ``forecaster look`` line, read into looks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from forecaster.errors import UsageError
from forecaster.service.look_count import (
    About,
    Prepared,
    checked_text,
    count_of,
    counted_when,
    photo_path,
    prepared,
    weed_called,
)
from forecaster.service.look_log import author
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import plain

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Weed
    from forecaster.service.look_count import TypedCounts
    from forecaster.service.look_dates import Present
    from forecaster.settings.farm import Farm, Paddock

EXAMPLE = 'forecaster look "Creek Flat" "not out=40" heading=60 --on 2026-10-11'


@dataclass(frozen=True, slots=True)
class Asked:
    """What stands on the command line."""

    paddock: str | None
    counts: tuple[str, ...] = ()
    weed: str | None = None
    on: str | None = None
    by: str | None = None
    note: str = ""
    photo: str = ""


def looks_of(asked: Asked, farm: Farm, present: Present) -> list[Prepared]:
    """One look for each weed that was counted, in the order they were named.

    Raises
    ------
    UsageError
        If a name, word, count or date is none.
    """
    paddock = paddock_called(farm, str(asked.paddock))
    found = by_weed(asked, farm, paddock)
    return [looked(farm, paddock, each, asked, present) for each in found]


def looked(
    farm: Farm,
    paddock: Paddock,
    counts: tuple[Weed, TypedCounts],
    asked: Asked,
    present: Present,
) -> Prepared:
    """The look of one weed.

    Raises
    ------
    UsageError
        If a word, count, date, name or text cannot be one.
    """
    weed, typed = counts
    counted = counted_when(asked.on, farm, present)
    note = checked_text(asked.note, "--note")
    photo, missing = photo_path(farm, checked_text(asked.photo, "--photo"), Path())
    about = About(author(asked.by), note, photo)
    made = prepared(farm, (paddock, weed), typed, counted, about, present=present)
    return made if missing is None else Prepared(made.entry, (*made.remarks, missing))


def by_weed(
    asked: Asked, farm: Farm, paddock: Paddock
) -> list[tuple[Weed, TypedCounts]]:
    """The counts of each weed; those without a weed of their own are ``--weed``'s.

    Raises
    ------
    UsageError
        If one is not ``word=count`` or names no weed of the paddock.
    """
    usual = asked.weed or paddock.target
    found: dict[str, tuple[Weed, list[tuple[str, int]]]] = {}
    for text in asked.counts:
        words, equals, count = text.rpartition("=")
        if not equals or not words.strip():
            raise UsageError(
                f"{plain(text)} is no count; write a stage and its heads, such as "
                '"not out=40" heading=60'
            )
        name, colon, stage = words.rpartition(":")
        weed = weed_called(farm, paddock, name if colon else usual)
        found.setdefault(weed.id, (weed, []))[1].append(count_of(stage, count))
    if asked.weed and weed_called(farm, paddock, asked.weed).id not in found:
        raise UsageError(f"--weed {plain(asked.weed)}: no count is given for it")
    return [(weed, tuple(typed)) for weed, typed in found.values()]
