"""time.*: whether the computer's clock can be believed, and its time zones."""

from __future__ import annotations

import re
import zoneinfo
from pathlib import Path
from typing import TYPE_CHECKING

from forecaster.domain.alerts.finding import Finding, fail, ok, skipped, warn
from forecaster.domain.alerts.phases import hours
from forecaster.errors import ForecasterError
from forecaster.service.selfcheck.asked_once import asked
from forecaster.service.selfcheck.commands import answer_of
from forecaster.service.selfcheck.settings_items import NO_FARM
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from forecaster.service.selfcheck.subject import Subject

OLD_YEARS = 3
"""Years after which rules of time zones are worth renewing. Assumed."""
_VERSION = re.compile(r"(\d{4})[a-z]+")


def sync(subject: Subject) -> Finding:
    """time.sync: whether something keeps the clock right (timedatectl(1))."""
    del subject
    said = answer_of("timedatectl", "show", "-p", "NTPSynchronized", "--value")
    if said is None:
        return skipped("there is no timedatectl to ask; see time.skew")
    if said.strip() == "yes":
        return ok("the clock is kept right over the network")
    return warn("the clock is not kept right over the network",
                "timedatectl set-ntp true")  # fmt: skip


def zone(subject: Subject) -> Finding:
    """time.zone: whether the farm's zone is known, and how old its rules are."""
    if subject.farm is None:
        return skipped(NO_FARM)
    name = subject.farm.place.zone
    try:
        zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, OSError, ValueError):
        return fail(
            f"no rules for {name} on this computer", "pip install -U tzdata", 71
        )
    version, where = zone_version(name)
    found = _VERSION.match(version)
    this_year = int(str(subject.now)[:4])
    if found and this_year - int(found[1]) >= OLD_YEARS:
        renew = "renew the system's package tzdata" if where != "tzdata" else ""
        return warn(f"rules of {name} are of {version} ({where})",
                    renew or "pip install -U tzdata")  # fmt: skip
    return ok(f"{name}, rules of {version or 'an unknown version'} ({where})")


def zone_version(name: str) -> tuple[str, str]:
    """Version of the time-zone rules that Python takes, and where they lie.

    The system's come first, else those of the package tzdata (PEP 615); the system's
    file tzdata.zi says its version in the first line.
    """
    for top in map(Path, zoneinfo.TZPATH):
        if (top / name).is_file():
            try:
                with (top / "tzdata.zi").open(encoding="utf-8") as file:
                    return file.readline().removeprefix("# version").strip(), str(top)
            except OSError:
                return "", str(top)
    import tzdata

    return tzdata.IANA_VERSION, "tzdata"


def skew(subject: Subject) -> Finding:
    """time.skew: the clock against what is kept, and against the weather service's."""
    if subject.farm is None:
        return skipped(NO_FARM)
    rules = subject.farm.alerts.rules
    behind = _behind_s(subject)
    if behind > rules.clock_back_s:
        return fail(f"the clock is {behind / 60:.0f} min behind the last check",
                    "set the computer's date and time", 75)  # fmt: skip
    heard = asked(subject)
    if heard is None or heard.skew_s is None:
        if behind < 0:
            return ok("ahead of the last check; no weather service was asked")
        return skipped("nothing to hold the clock against yet")
    if abs(heard.skew_s) > rules.clock_off_s:
        side = "ahead of" if heard.skew_s > 0 else "behind"
        return fail(
            f"the clock is {abs(heard.skew_s) / 60:.0f} min {side} the weather "
            "service's", "set the computer's date and time", 75,
        )  # fmt: skip
    return ok(f"{abs(heard.skew_s):.0f} s from the weather service's clock")


def _behind_s(subject: Subject) -> float:
    """Seconds the clock is behind the last check with weather; 0 where none is kept."""
    try:
        with Reader.of(subject.state) as reader:
            highest = reader.farm().highest
    except ForecasterError:
        return 0.0
    if highest is None:
        return 0.0
    return float((highest - subject.now) / hours(1)) * 3600
