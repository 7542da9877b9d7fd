"""cfg.*: the farm's own files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.alerts.finding import Finding, fail, ok, skipped, warn
from forecaster.errors import ForecasterError, SettingsError
from forecaster.service.moments import local_day
from forecaster.settings.document import read_document
from forecaster.settings.farm import FARM_FILE

if TYPE_CHECKING:
    from forecaster.service.selfcheck.subject import Subject

NO_FARM = "the farm file cannot be used; see cfg.semantic"
FAR_H = 2.0
"""[h] A clock so far from the sun is another state's, or another land's: those of
Australia keep within one hour of it. Assumed."""
_MEAN_DAY = (1, 7)
"""January and July: one of them is without daylight saving."""


def parse(subject: Subject) -> Finding:
    """cfg.parse: whether the farm file is TOML."""
    path = subject.folder / FARM_FILE
    try:
        read_document(path)
    except ForecasterError as error:
        return _wrong(error, f"edit {path}")
    return ok(f"{path.name} can be read")


def semantic(subject: Subject) -> Finding:
    """cfg.semantic: whether all of the farm's files mean something together."""
    edit = f"edit {subject.folder / FARM_FILE}"
    if subject.fault is not None:
        return _wrong(subject.fault, edit)
    assert subject.farm is not None  # noqa: S101 - it is one or the other
    today = local_day(subject.now, subject.farm.place.zone)
    try:
        subject.farm.on(today, today)
    except ForecasterError as error:
        return _wrong(error, edit)
    return ok(f"{len(subject.farm.paddocks)} paddocks, every value allowed")


def _wrong(error: ForecasterError, edit: str) -> Finding:
    if isinstance(error, SettingsError):
        faults = tuple(" ".join(str(each).split()) for each in error.faults)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        return fail(f"{count} in the settings", edit, error.exit_code, faults)
    return fail(" ".join(str(error).split()), edit, error.exit_code)


def place(subject: Subject) -> Finding:
    """cfg.place: whether place and time zone go together."""
    if subject.farm is None:
        return skipped(NO_FARM)
    where = subject.farm.place
    edit = f"edit latitude, longitude or zone in {subject.folder / FARM_FILE}"
    far = sun_difference_h(where.zone, where.longitude, subject)
    if abs(far) > FAR_H:
        return fail(
            f"the clock of {where.zone} is {abs(far):.1f} h from the sun at longitude "
            f"{where.longitude:g}: local times would be wrong", edit, 78,
        )  # fmt: skip
    south = zone_south(where.zone)
    if south is not None and south != (where.latitude < 0):
        side = "south" if south else "north"
        return fail(
            f"{where.zone} lies {side} of the equator and latitude {where.latitude:g} "
            "does not: a minus sign?", edit, 78,
        )  # fmt: skip
    if where.latitude >= 0:
        return warn(
            f"latitude {where.latitude:g} is north of the equator; weeds and labels "
            "are of southern Australia", edit,
        )  # fmt: skip
    return ok(f"{where.zone} fits {where.latitude:g}, {where.longitude:g}")


def sun_difference_h(zone: str, longitude: float, subject: Subject) -> float:
    """Hours by which standard time is ahead of the mean sun."""
    import datetime as dt
    from zoneinfo import ZoneInfo

    year = local_day(subject.now, zone).year
    offsets = [
        dt.datetime(year, month, 1, tzinfo=ZoneInfo(zone)).utcoffset()
        for month in _MEAN_DAY
    ]
    standard = min(each for each in offsets if each is not None)
    apart = standard.total_seconds() / 3600 - longitude / 15.0
    return (apart + 12.0) % 24.0 - 12.0  # over the date line the short way


def zone_south(zone: str) -> bool | None:
    """Whether a zone's city is south of the equator, by the zone table of tzdata.

    None: it is not in it. Lines are country, ±DDMM±DDDMM, zone.
    """
    from importlib.resources import files

    table = files("tzdata").joinpath("zoneinfo", "zone.tab")
    try:
        lines = table.read_text(encoding="utf-8").splitlines()
    except OSError:
        return None
    for line in lines:
        cells = line.split("\t")
        if len(cells) > 2 and cells[2] == zone:  # noqa: PLR2004 - country, place, zone
            return cells[1].startswith("-")
    return None
