"""Faults of grazing and mobs that only show when entries are held together."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from forecaster.settings.names import same_name, unknown
from forecaster.settings.repeats import repeated

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from forecaster.errors import Fault
    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import FarmFile
    from forecaster.settings.library import Library
    from forecaster.settings.stock_file import GrazedEntry, StayEntry
    from forecaster.settings.toml_positions import Path


class _Span(NamedTuple):
    start: dt.date
    end: dt.date | None
    path: Path


def faults(document: Document, file: FarmFile, library: Library) -> Iterator[Fault]:
    """Every fault of grazing, mobs and the toxicity flag."""
    for number, paddock in enumerate(file.paddock):
        here = ("paddock", number)
        yield from _spans(document, (*here, "grazed"), paddock.grazed, "grazing")
        if paddock.ryegrass_toxicity:
            toxic = [name for name, weed in library.weeds.items() if weed.toxicity]
            if not set(toxic) & set(paddock.weeds):
                yield document.fault(
                    (*here, "ryegrass_toxicity"),
                    f"ryegrass_toxicity = true, but {' or '.join(toxic)} is not among "
                    f"this paddock's weeds: {', '.join(map(repr, paddock.weeds))}",
                )
    yield from _mobs(document, file)


def _mobs(document: Document, file: FarmFile) -> Iterator[Fault]:
    names = {same_name(each.name): each.name for each in file.paddock}
    yield from repeated(document, "mob", (each.name for each in file.mob))
    for number, mob in enumerate(file.mob):
        here = ("mob", number)
        for place, stay in enumerate(mob.stay):
            if same_name(stay.paddock) not in names:
                yield document.fault(
                    (*here, "stay", place, "paddock"),
                    unknown("paddock", stay.paddock, names.values()),
                )
        yield from _spans(document, (*here, "stay"), mob.stay, "stay")


def _spans(
    document: Document,
    here: Path,
    entries: Sequence[GrazedEntry | StayEntry],
    what: str,
) -> Iterator[Fault]:
    """Dates reversed, and entries that overlap by more than a day of moving."""
    sound = []
    for number, entry in enumerate(entries):
        path = (*here, number)
        if entry.until is not None and entry.until < entry.start:
            yield document.fault(
                (*path, "until"),
                f"until = {entry.until} is before from = {entry.start}; swapped?",
            )
        else:
            sound.append(_Span(entry.start, entry.until, path))
    sound.sort(key=lambda span: span.start)
    before: _Span | None = None
    for span in sound:
        if before is not None and (before.end is None or span.start < before.end):
            line, _ = document.position((*before.path, "from"))
            ends = f"until {before.end}" if before.end else "and has no until"
            yield document.fault(
                (*span.path, "from"),
                f"from = {span.start} lies in the {what} of line {line}, which is from "
                f"{before.start} {ends}; correct one",
            )
        if before is None or (
            before.end is not None and (span.end is None or span.end > before.end)
        ):
            before = span
