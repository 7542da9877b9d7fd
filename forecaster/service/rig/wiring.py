"""From the words of a command line to the plan of a rig."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.errors import ForecasterError, InputMissingError, UsageError
from forecaster.service.daily import outlook
from forecaster.service.farms import farm_folders, one_line
from forecaster.service.rig.jobs import FarmWork
from forecaster.service.rig.planning import Asked, rig_plan
from forecaster.service.wiring import farm_day
from forecaster.settings.names import same_name

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.outlook import Outlook
    from forecaster.domain.rig.rig_plan import RigPlan
    from forecaster.domain.rig.work_rate import Rig
    from forecaster.service.farm_day import FarmDay

DAY = np.timedelta64(86_400, "s")
MOST_DAYS = 14
MOST_RIGS = 20
MOST_HECTARES = 20_000.0


def plan_of(
    day: FarmDay, *, demo: bool, rigs: int | None, days: int | None, largest: float
) -> RigPlan:
    """The plan of one farm.

    Raises
    ------
    UsageError
        If an option is out of its bounds, or the farm has typed no rig.
    """
    check(rigs, days, largest)
    work = _work(day, days, demo=demo)
    return rig_plan((work,), chosen_rigs((work,), rigs), Asked(largest))


def plan_for(day: FarmDay, value: Outlook) -> RigPlan:
    """The plan of one farm for its outlook, all hours judged.

    Raises
    ------
    UsageError
        If the farm has typed no rig.
    """
    work = FarmWork(day.farm, value, value.until)
    return rig_plan((work,), chosen_rigs((work,), None), Asked())


def plan_of_farms(
    folder: Path,
    at: str | None,
    *,
    offline: bool,
    rigs: int | None,
    days: int | None,
    largest: float,
) -> RigPlan:
    """One plan for every farm in the folders right under ``folder``.

    A farm that cannot be told is named in the plan and never stops the others.

    Raises
    ------
    UsageError
        As :func:`plan_of`; if two farms type one rig differently.
    InputMissingError
        If there is no farm under the folder, or none can be told.
    """
    check(rigs, days, largest)
    works: list[FarmWork] = []
    faults: list[tuple[str, str]] = []
    for each in farm_folders(folder):
        try:
            day, demo = farm_day(each, at, None, offline=offline)
            works.append(_work(day, days, demo=demo))
        except ForecasterError as error:
            faults.append((each.name, one_line(str(error))))
        except Exception as error:  # noqa: BLE001 - one farm must never hide the others
            said = f"a fault of the program: {type(error).__name__}: {error}"
            faults.append((each.name, one_line(said)))
    if not works:
        told = "\n".join(f"{farm}: {reason}" for farm, reason in faults)
        raise InputMissingError(f"{folder}: no farm of it can be told\n{told}")
    found = tuple(works)
    return rig_plan(found, chosen_rigs(found, rigs), Asked(largest), tuple(faults))


def check(rigs: int | None, days: int | None, largest: float) -> None:
    """Refuse options out of their bounds.

    Raises
    ------
    UsageError
        With the value and what is allowed.
    """
    if rigs is not None and not 1 <= rigs <= MOST_RIGS:
        raise UsageError(f"--rigs {rigs}: allowed is 1 to {MOST_RIGS}")
    if days is not None and not 1 <= days <= MOST_DAYS:
        raise UsageError(f"--days {days}: allowed is 1 to {MOST_DAYS}")
    if not 0 <= largest <= MOST_HECTARES:
        raise UsageError(
            f"--split {largest:g}: allowed is 0 (keep paddocks whole) to "
            f"{MOST_HECTARES:,.0f} ha"
        )


def _work(day: FarmDay, days: int | None, *, demo: bool) -> FarmWork:
    value = outlook(day, demo=demo)
    until = value.until
    if days is not None:
        until = min(until, value.now + days * DAY)
    return FarmWork(day.farm, value, until)


def chosen_rigs(farms: tuple[FarmWork, ...], number: int | None) -> tuple[Rig, ...]:
    """Rigs typed by any of the farms; with ``number``, so many of the first alone.

    Raises
    ------
    UsageError
        If none is typed, or two farms type one of a name differently.
    """
    found: dict[str, tuple[Rig, FarmWork]] = {}
    for work in farms:
        for rig in work.farm.rigs:
            first, typed_by = found.setdefault(same_name(rig.name), (rig, work))
            if first != rig:
                raise UsageError(
                    f"{work.farm.document.path}: the rig {rig.name!r} differs from "
                    f"that of {typed_by.farm.document.path}; give it the same numbers, "
                    "or another name"
                )
    rigs = tuple(rig for rig, _ in found.values())
    if not rigs:
        raise UsageError(
            f"{farms[0].farm.document.path}: no [rig] is typed; a plan needs its "
            "width_m, speed_kmh, efficiency, tank_l, water_l_ha, fill_min and "
            "move_min: see docs/reference/farm-file.md"
        )
    return rigs if number is None else (replace(rigs[0], number=number),)
