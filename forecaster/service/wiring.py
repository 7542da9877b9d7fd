"""From the words of a command line to a farm at a moment."""

from __future__ import annotations

import difflib
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from forecaster.errors import UsageError
from forecaster.service.clock import utc_now
from forecaster.service.farm_day import FarmDay
from forecaster.service.farm_looks import load_looks
from forecaster.service.farm_sprayed import farm_on
from forecaster.service.moments import local_day
from forecaster.service.weather import load_weather
from forecaster.settings.farm import FARM_FILE, Farm, Paddock, load_farm
from forecaster.settings.names import same_name
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from forecaster.settings.actives import Active


def farm_day(
    folder: Path | None,
    at: str | None,
    mapping: Path | None,
    *,
    offline: bool = False,
) -> tuple[FarmDay, bool]:
    """The farm of ``folder`` at ``at``, and whether it is the demo farm.

    Without a folder: this one if it holds a farm, else the demo.

    Raises
    ------
    ForecasterError
        Whatever is wrong with the farm, its weather or the moment.
    """
    farm, demo = farm_at(folder)
    clock = utc_now()
    weather = load_weather(farm, clock, at=at, mapping=mapping, offline=offline)
    today = local_day(weather.now, weather.place.zone)
    latest = max(today, local_day(clock, weather.place.zone))
    looks, told = load_looks(farm)
    then, said = farm_on(farm, weather.now, latest)
    weather = replace(weather, warnings=(*weather.warnings, *told, *said))
    return FarmDay.of(then, weather, looks), demo


def farm_at(folder: Path | None) -> tuple[Farm, bool]:
    """The farm of ``folder``, or of this one, or the demo; and whether it is that."""
    here = Path()
    demo = folder is None and not (here / FARM_FILE).is_file()
    return load_farm(folder or (demo_folder() if demo else here)), demo


def chosen(day: FarmDay, name: str, active: str | None) -> tuple[Paddock, Active]:
    """The paddock and active a command names.

    Raises
    ------
    UsageError
        If there is no such paddock or active, with the nearest names.
    """
    paddock = paddock_called(day.farm, name)
    known = day.farm.actives
    wanted = paddock.actives[0] if active is None else active
    if wanted not in known:
        raise UsageError(f"--active {wanted!r}: known are {', '.join(known)}")
    return paddock, known[wanted]


def paddock_called(farm: Farm, name: str) -> Paddock:
    """The paddock of this name, in any case.

    Raises
    ------
    UsageError
        If there is none, with the nearest names.
    """
    by_name = {same_name(each.name): each for each in farm.paddocks}
    if same_name(name) in by_name:
        return by_name[same_name(name)]
    names = [each.name for each in farm.paddocks]
    near = difflib.get_close_matches(name, names, n=3, cutoff=0.5)
    hint = (
        f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(names)}"
    )
    raise UsageError(f"no paddock called {name!r} on {farm.name}; {hint}")
