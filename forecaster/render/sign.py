"""A sign for the gate of a paddock that is or will be sprayed, A5 or plain text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.withholding import LabelSays
from forecaster.render import words
from forecaster.render.standing import invented_words
from forecaster.render.templating import page

if TYPE_CHECKING:
    from forecaster.domain.notice import Notice
    from forecaster.domain.record.after import Recorded

TOXIC = "annual ryegrass toxicity: ask before stock go in"
HUNGRY = "sprayed capeweed may poison: no hungry stock"
KEEP_OUT = "Keep out while it is sprayed and until the label allows entry."
SECOND = np.timedelta64(1, "s")
BLANK = "." * 40


@dataclass(frozen=True, slots=True)
class Sign:
    """The words on a sign."""

    invented: str
    farm: str
    paddock: str
    head: str
    when: str
    weed: str
    active: str
    stock: str
    stock_note: str
    blanks: tuple[str, ...]


def words_of(notice: Notice) -> Sign:
    """What a sign says."""
    outlook, block = notice.outlook, notice.block
    clock = words.LocalClock(outlook.place.zone)
    sprayed, told = notice.paddock.sprayed, notice.recorded
    if block is not None:  # day 0 is the day it is finished
        last = clock.local(block.end - SECOND).date()
        sprayed = np.datetime64(last, "D")
        when = f"planned {clock.span(block.start, block.end)}, if the day is fit"
    else:
        when = "" if sprayed is None else _date(sprayed)
    stock, note = _stock(notice, sprayed, planned=block is not None)
    if notice.paddock.warning:
        note = f"{TOXIC}; {note}"
    if notice.block is None and notice.capeweed:
        note = f"{note}; {HUNGRY}"
    finished = ("Finished (day, hour)",) if block is not None else ()
    return Sign(
        invented=invented_words(outlook.weather, demo=outlook.demo),
        farm=outlook.farm,
        paddock=notice.paddock.name,
        head="To be sprayed" if block is not None else "Sprayed",
        when=when,
        weed=notice.paddock.weed_name,
        active=" and ".join((notice.active.active,) if told is None else told.actives),
        stock=stock,
        stock_note=note,
        blanks=(*finished, "Ask", "Phone"),
    )


def _stock(
    notice: Notice, sprayed: np.datetime64 | None, *, planned: bool
) -> tuple[str, str]:
    """When stock may come in, and where that comes from."""
    told = notice.recorded
    if told is not None:
        return _stock_by_record(told)
    held = notice.active.withholding
    first = None if sprayed is None else held.not_before(sprayed)
    if notice.earlier is not None:
        return _stock_by_both(notice.earlier.holds(first))
    if first is not None:
        counted = "; if it is sprayed on another day, count again" if planned else ""
        days = words.count(held.days or 0, "day")
        note = f"{days}, typed from your label; the day it ends is day 0{counted}"
        return f"Stock not before {_date(first)}", note
    if held.says is LabelSays.NONE:
        return (
            "Stock: read the label",
            "no grazing days on it, as typed; others may hold",
        )
    return "Stock: read the label", "no number of days was typed and confirmed"


def _stock_by_record(told: Recorded) -> tuple[str, str]:
    """When stock may come in by the spray record, and where that comes from."""
    if told.not_before is None:
        return "Stock: read the label", "no number of days was typed and confirmed"
    return (
        f"Stock not before {_date(told.not_before)}",
        "the days typed from the label, counted from the recorded finish",
    )


def _stock_by_both(first: np.datetime64 | None) -> tuple[str, str]:
    """When stock may come in where a recorded spray goes before that of the file."""
    if first is None:
        return "Stock: read the label", "of two sprays the days of one are not known"
    return f"Stock not before {_date(first)}", "the later of two sprays, one recorded"


def _date(day: np.datetime64) -> str:
    date = words.calendar_day(day)
    return f"{date:%a} {date.day} {date:%b %Y}"


def text(notice: Notice) -> str:
    """The sign as plain text."""
    sign = words_of(notice)
    found = [
        *([sign.invented] if sign.invented else []),
        sign.farm, sign.paddock, "",
        f"{sign.head}: {sign.when}", f"{sign.weed}, {sign.active}", "",
        *words.wrapped(sign.stock), *words.wrapped(f"({sign.stock_note})"), "",
        *words.wrapped(KEEP_OUT), "",
        *(f"{each}: {BLANK}" for each in sign.blanks),
    ]  # fmt: skip
    return "\n".join(found) + "\n"


def html(notice: Notice) -> str:
    """The sign as one page of A5."""
    return page("sign.html.j2", sign=words_of(notice), keep_out=KEEP_OUT)
