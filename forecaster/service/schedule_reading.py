"""Reads back, from files of a schedule, when they strike."""

from __future__ import annotations

import re

from forecaster.errors import InternalError
from forecaster.service.schedule_times import Strikes

_TIMER = re.compile(
    r"^OnCalendar=\*-\*-\* (?P<hour>\*|\d+):(?P<minute>[\d/]+):00 (?P<zone>\S+)$",
    re.MULTILINE,
)
_CRON = re.compile(r"^(?P<minute>[\d,*/]+) (?P<hour>\*|\d+) \* \* \* ", re.MULTILINE)
_CRON_ZONE = re.compile(r"^CRON_TZ=(\S+)$", re.MULTILINE)
_START = re.compile(
    r"<StartBoundary>\d{4}-\d\d-\d\dT(?P<hour>\d\d):(?P<minute>\d\d):00"
    r"(?P<utc>Z?)</StartBoundary>"
)
_EVERY = re.compile(r"<Interval>PT(\d+)([HM])</Interval>")
_ALL_HOURS = frozenset(range(24))


def strikes_of(system: str, files: dict[str, str], what: str, zone: str) -> Strikes:
    """When the ``what`` ("check" or "deliver") of ``files`` strikes.

    ``zone`` is that of the computer's own clock.

    Raises
    ------
    InternalError
        If that cannot be read from them.
    """
    read = {"systemd": _timer, "cron": _table, "windows": _task}[system]
    try:
        return read(files, what, zone)
    except (KeyError, IndexError, StopIteration, TypeError, ValueError):
        raise InternalError(
            f"the times of the schedule for {system} cannot be read back; nothing was "
            "written. Report it"
        ) from None


def _ending(files: dict[str, str], end: str) -> str:
    return next(text for name, text in files.items() if name.endswith(end))


def _timer(files: dict[str, str], what: str, zone: str) -> Strikes:
    del zone
    found = _TIMER.search(_ending(files, f"-{what}.timer"))
    if found is None:
        raise ValueError(what)
    return Strikes(_minutes(found["minute"]), _hours(found["hour"]), found["zone"])


def _table(files: dict[str, str], what: str, zone: str) -> Strikes:
    (text,) = files.values()
    named = _CRON_ZONE.search(text)
    lines = [
        each
        for each in _CRON.finditer(text)
        if each["minute"].startswith("*") == (what == "deliver")
    ]
    (found,) = lines
    own = named is not None and named.end() < found.start()
    return Strikes(
        _minutes(found["minute"].replace("*/", "0/")),
        _hours(found["hour"]),
        named[1] if own and named else zone,
    )


def _task(files: dict[str, str], what: str, zone: str) -> Strikes:
    text = _ending(files, f"-{what}.xml")
    start, every = _START.search(text), _EVERY.search(text)
    if start is None:
        raise ValueError(what)
    hour, minute = int(start["hour"]), int(start["minute"])
    if every is None:
        return Strikes(frozenset({minute}), frozenset({hour}), zone)
    step = int(every[1]) * (60 if every[2] == "H" else 1)
    minutes = frozenset((minute + step * k) % 60 for k in range(60 // step))
    return Strikes(minutes, _ALL_HOURS, "UTC" if start["utc"] else zone)


def _hours(text: str) -> frozenset[int]:
    return _ALL_HOURS if text == "*" else frozenset({int(text)})


def _minutes(text: str) -> frozenset[int]:
    """``7``, ``7,37`` or ``0/5``."""
    if "/" in text:
        first, step = map(int, text.split("/"))
        return frozenset(range(first, 60, step))
    return frozenset(map(int, text.split(",")))
