"""Quiet about a paddock for a while: asked for, ended, listed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from forecaster.domain.alerts.phases import days
from forecaster.domain.alerts.records import Snooze
from forecaster.domain.alerts.snoozes import LONGEST_D, in_force
from forecaster.errors import StateError, UsageError
from forecaster.service.alerts.farm_check import FOLDER
from forecaster.service.alerts.local_day import moment_at, wall_clock
from forecaster.service.look_count import checked_author, user_name
from forecaster.service.moments import as_utc
from forecaster.service.wiring import paddock_called
from forecaster.store import marker
from forecaster.store.ledger import Ledger
from forecaster.store.one_check import alone
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np

    from forecaster.settings.farm import Farm

WAIT_S = 10.0
"""[s] for a check that holds the state."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed."""

    paddock: str
    active: str | None = None
    days: int | None = None
    until: str | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True)
class Quiet:
    """A snooze, its paddock as people call it, and what is odd about its end."""

    snooze: Snooze
    paddock: str
    odd: str = ""


def snooze(farm: Farm, asked: Asked, now: np.datetime64) -> Quiet:
    """Ask for quiet; it takes the place of an older one of the same windows.

    Raises
    ------
    UsageError
        If there is no such paddock or active, or the end is none or too far off.
    BusyError, StateError
        If it cannot be kept.
    """
    paddock, active = _windows(farm, asked.paddock, asked.active)
    until, odd = _end(farm, asked, now)
    made = Snooze(paddock, active, now, until, _who(asked.by))
    _keep(farm, [made], now)
    return Quiet(made, _name(farm, paddock), odd)


def end(farm: Farm, asked: Asked, now: np.datetime64) -> list[Quiet]:
    """End what is in force for a paddock, or for one of its actives; those ended.

    Raises
    ------
    UsageError
        If there is nothing to end.
    BusyError, StateError
        If it cannot be kept.
    """
    paddock, active = _windows(farm, asked.paddock, asked.active)
    here = [each for each in _in_force(farm, now) if each.paddock == paddock]
    ended = [each for each in here if asked.active is None or each.active == active]
    if not ended:
        whole = " (the one in force is for all its actives; leave out --active)"
        raise UsageError(
            f"no snooze of {asked.paddock} is in force{whole if here else ''}; "
            "see forecaster snooze --list"
        )
    who = _who(asked.by)
    _keep(farm, [Snooze(each.paddock, each.active, now, now, who) for each in ended],
          now)  # fmt: skip
    return [Quiet(each, _name(farm, paddock)) for each in ended]


def listed(farm: Farm, now: np.datetime64) -> list[Quiet]:
    """Those in force, the one that ends first at the front."""
    found = sorted(_in_force(farm, now), key=lambda each: (each.until, each.paddock))
    return [Quiet(each, _name(farm, each.paddock)) for each in found]


def _windows(farm: Farm, name: str, active: str | None) -> tuple[str, str]:
    paddock = paddock_called(farm, name)
    if active is not None and active not in paddock.actives:
        raise UsageError(
            f"--active {active!r}: {paddock.name} has {', '.join(paddock.actives)}"
        )
    return paddock.id, active or ""


def _end(farm: Farm, asked: Asked, now: np.datetime64) -> tuple[np.datetime64, str]:
    if (asked.days is None) == (asked.until is None):
        raise UsageError(
            f"until when? Give --days 1 to {LONGEST_D}, or --until 2026-10-20T06:00 on "
            "the farm's clock"
        )
    if asked.days is not None:
        if not 1 <= asked.days <= LONGEST_D:
            raise UsageError(f"--days {asked.days}: allowed is 1 to {LONGEST_D}")
        return now + days(asked.days), ""
    until, odd = moment_typed(str(asked.until), farm.place.zone)
    if until <= now:
        raise UsageError(f"--until {asked.until!r} has passed; name a later time")
    if until - now > days(LONGEST_D):
        raise UsageError(
            f"--until {asked.until!r} is more than {LONGEST_D} days off, and a window "
            "may be over by then; snooze again when this one ends"
        )
    return until, odd


def moment_typed(text: str, zone: str) -> tuple[np.datetime64, str]:
    """A typed moment, and what is odd about it.

    A local time that comes twice or not at all is the later of the two it may mean: a
    quiet hour too many is told, one too few wakes somebody.

    Raises
    ------
    UsageError
        If it is no moment.
    """
    try:
        typed = dt.datetime.fromisoformat(text)
    except ValueError:
        raise UsageError(
            f"--until {text!r} is not a moment; write it like 2026-10-20T06:00 (farm "
            "clock) or 2026-10-19T19:00Z"
        ) from None
    if typed.tzinfo is not None:
        return as_utc(typed), ""
    moment = moment_at(typed.date(), typed.time(), zone)
    wall = typed.replace(tzinfo=ZoneInfo(zone))
    if wall.utcoffset() == wall.replace(fold=1).utcoffset():
        return moment, ""
    exists = wall_clock(moment, zone).replace(tzinfo=None) == typed
    problem = "comes twice" if exists else "does not exist"
    return moment, f"{typed:%H:%M} {problem} on that day; the later moment is meant"


def _in_force(farm: Farm, now: np.datetime64) -> list[Snooze]:
    with Reader.of(farm.folder / FOLDER) as reader:
        return in_force(reader.every_snooze(), now)


def _keep(farm: Farm, made: list[Snooze], now: np.datetime64) -> None:
    folder = farm.folder / FOLDER
    with alone(folder, now, wait_s=WAIT_S):
        _sound(folder)
        with Ledger.open(folder, now) as ledger, ledger.writing() as tx:
            for each in made:
                tx.add_snooze(each)


def _sound(folder: Path) -> None:
    """Leave damage to the next check, which tells people of it."""
    with Reader.of(folder) as reader:
        reader.every_row()
        mark = marker.read(folder)
        if mark is not None and reader.newest_run() < mark.run:
            raise StateError(
                f"{folder}: what is kept is older than it was; run a check first: "
                f"forecaster check --farm {folder.parent}"
            )


def _who(typed: str | None) -> str:
    return (user_name() or "") if typed is None else checked_author(typed, "--by")


def _name(farm: Farm, paddock: str) -> str:
    names = {each.id: each.name for each in farm.paddocks}
    return names.get(paddock, paddock)
