"""The outlook as short messages: a line for each paddock that needs something.

Every line stands alone in one message (:mod:`forecaster.render.phone`), the most
urgent first. A paddock that cannot be told has a line; one that needs nothing has none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planned import only_block
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.stock_off import StockStatus
from forecaster.domain.planning.windows import Status
from forecaster.render import words
from forecaster.render.entries import URGENCY
from forecaster.render.phone import phone_line
from forecaster.render.phone_fit import Part
from forecaster.render.standing import counted, invented_words, pressing
from forecaster.render.stock_text import status_words

if TYPE_CHECKING:
    import datetime as dt

    from forecaster.domain.outlook import (
        ActiveOutlook,
        BlockView,
        Outlook,
        PaddockOutlook,
    )
    from forecaster.domain.rig.rig_plan import RigPlan, Stop

OLD_H = 6.0
"""[h] Weather older than this is told. Assumed, as in alerts."""
WEEKDAY_DAYS = 6
"""[d] A block this far off is told with its date: its weekday alone might mislead."""
_STOCK = {StockStatus.OVERDUE, StockStatus.DUE}


def render(outlook: Outlook, plan: RigPlan | None = None) -> str:
    """One line a message, each ended by a line feed; with the order of a rig."""
    return "".join(f"{line}\n" for line in lines(outlook, plan))


def lines(outlook: Outlook, plan: RigPlan | None = None) -> list[str]:
    """The messages, the most urgent first; never none."""
    clock = words.LocalClock(outlook.place.zone)
    found = [
        (_rank(paddock), line)
        for paddock in outlook.paddocks
        if (line := paddock_line(outlook, paddock, clock))
    ]
    ranked = [line for _, line in sorted(found, key=lambda each: each[0])]
    order = [] if plan is None else [_order(outlook, plan, clock)]
    return [*_head(outlook), *order, *(ranked or [_nothing(outlook, clock)])]


def _order(outlook: Outlook, plan: RigPlan, clock: words.LocalClock) -> str:
    """``Order: Woolshed Mon 9-11:30 am. Back Road …``; the last go first."""
    if not plan.stops:
        return phone_line("Order", [Part("no paddock fits the hours ahead.", 0)])
    parts = [
        Part(f"{each.paddock} {_when(outlook, each, clock)}.", number)
        for number, each in enumerate(plan.stops, start=1)
    ]
    return phone_line("Order", parts, hours=True)


def _head(outlook: Outlook) -> list[str]:
    weather = outlook.weather
    found = [invented_words(weather, demo=outlook.demo)]
    told = []
    if np.isnan(weather.age_hours):
        told.append(Part("nobody knows how old the weather is.", 0))
    elif weather.age_hours > OLD_H:
        told.append(Part(f"weather is {weather.age_hours:.0f} h old.", 0))
    if weather.warnings:
        warned = words.count(len(weather.warnings), "warning")
        told.append(Part(f"{warned}: see the outlook.", 0))
    if told:
        found.append(phone_line(outlook.farm, told))
    return [each for each in found if each]


def _nothing(outlook: Outlook, clock: words.LocalClock) -> str:
    looked = words.count(len(outlook.paddocks), "paddock")
    until = clock.weekday(outlook.until)
    return phone_line(
        outlook.farm, [Part(f"nothing to do by {until}.", 0), Part(f"{looked}.", 1)]
    )


def _rank(paddock: PaddockOutlook) -> tuple[int, float]:
    active = pressing(paddock)
    if active is None:
        return URGENCY[Status.UNKNOWN], 0.0
    days = active.days_to_close
    left = None if days is None else days.likely
    return URGENCY[active.status], np.inf if left is None else left


def paddock_line(
    outlook: Outlook, paddock: PaddockOutlook, clock: words.LocalClock
) -> str:
    """What one paddock needs, in one message; empty if it needs nothing."""
    if paddock.fault is not None:
        return phone_line(
            paddock.name, [Part("UNKNOWN, it could not be worked out.", 0)]
        )
    active = pressing(paddock)
    stock = _stock(paddock, spare=0 if active is None else 2)
    if active is None:
        return phone_line(paddock.name, stock) if stock else ""
    parts, hours = _said(outlook, paddock, active, clock)
    return phone_line(paddock.name, [*parts, *stock], hours=hours)


def _stock(paddock: PaddockOutlook, *, spare: int) -> list[Part]:
    if paddock.stock is None or paddock.stock.off.status not in _STOCK:
        return []
    return [Part(f"Stock off {status_words(paddock.stock.off)}.", spare)]


def _said(
    outlook: Outlook,
    paddock: PaddockOutlook,
    active: ActiveOutlook,
    clock: words.LocalClock,
) -> tuple[list[Part], bool]:
    """The parts of a line, and whether they name hours."""
    block, name = active.step_block, active.active
    if active.step is Step.SPRAY and block is not None:
        return _block_parts(outlook, paddock, active, block, clock), True
    if active.step is Step.LOOK_AT_GATE and block is not None:
        when = _when(outlook, block, clock)
        return [Part(f"look first, {name} {when}.", 0), *_heads(paddock, 1)], True
    window = active.window
    opens = words.likely_range(window.open, clock) if window else "unknown"
    shuts = words.likely_range(window.closed, clock) if window else "unknown"
    parts = {
        Step.COUNT_HEADS: (Part("count heads.", 0), Part(f"{name} opens {opens}.", 1)),
        Step.NO_HOURS: (
            Part(f"no fit hours for {name}. Look daily.", 0),
            Part(f"Shuts {shuts}.", 1),
        ),
        Step.CANNOT_TELL: (Part("cannot be told. Go and count heads.", 0),),
        Step.UNEVEN: (Part("heads uneven, do not spray on the mean.", 0),),
        Step.LEAVE: (
            Part("do not spray.", 0),
            Part(
                f"See row {active.against.row} of advise." if active.against else "", 1
            ),
        ),
        Step.TYPE_LABEL: (Part(f"type your label for {name}.", 0),),
        Step.NOT_ON_LABEL: (Part(f"weed not on your label for {name}.", 0),),
        Step.SURVEY: (Part("say in the farm file what lies around.", 0),),
    }[active.step]
    return list(parts), False


def _block_parts(
    outlook: Outlook,
    paddock: PaddockOutlook,
    active: ActiveOutlook,
    block: BlockView,
    clock: words.LocalClock,
) -> list[Part]:
    wind = f"{words.side(block.wind_from)} {words.kmh(block.wind_speed[1])} km/h."
    chance = words.in_ten(block.chance)
    only = only_block(active, outlook.until)
    holds = f"Only block before it shuts ({chance})." if only else f"Holds {chance}."
    return [
        Part(f"{active.active} {_when(outlook, block, clock)},", 0),
        Part(wind, 3),
        Part(holds, 4),
        *_heads(paddock, 1),
    ]


def _heads(paddock: PaddockOutlook, spare: int) -> list[Part]:
    return [] if counted(paddock) else [Part("Count heads first.", spare)]


def _when(outlook: Outlook, block: BlockView | Stop, clock: words.LocalClock) -> str:
    dated = bool(block.start - outlook.now >= np.timedelta64(WEEKDAY_DAYS, "D"))
    return hours_words(clock.local(block.start), clock.local(block.end), dated=dated)


def hours_words(start: dt.datetime, end: dt.datetime, *, dated: bool = False) -> str:
    """``Wed 12-6 pm``, ``Thu 10:30 am-5 pm``, ``Fri 8 pm-Sat 2 am``."""
    day = f"{start:%a} {start.day} {start:%b}" if dated else f"{start:%a}"
    first, last = _half(start), _half(end)
    if end.date() != start.date():
        return f"{day} {_hour(start)} {first}-{end:%a} {_hour(end)} {last}"
    if first == last:
        return f"{day} {_hour(start)}-{_hour(end)} {last}"
    return f"{day} {_hour(start)} {first}-{_hour(end)} {last}"


def _hour(moment: dt.datetime) -> str:
    minutes = f":{moment:%M}" if moment.minute else ""
    return f"{(moment.hour - 1) % 12 + 1}{minutes}"


def _half(moment: dt.datetime) -> str:
    return "am" if moment.hour < 12 else "pm"  # noqa: PLR2004 - noon
