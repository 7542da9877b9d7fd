"""sched.unit: whether something on this computer starts checks of this farm."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.finding import Finding, ok, skipped, warn
from forecaster.domain.alerts.hindsight import GAP_PERIODS
from forecaster.domain.alerts.phases import hours
from forecaster.errors import ForecasterError
from forecaster.service.selfcheck.commands import answer_of
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.service.selfcheck.subject import Subject

TABLES = (Path("/etc/crontab"), Path("/etc/cron.d"))
MOST_TIMERS = 200


def unit(subject: Subject) -> Finding:
    """sched.unit: a timer of systemd or a line of cron, or checks that come anyway."""
    if not sys.platform.startswith("linux"):
        return skipped("tasks are looked for on Linux alone; see sched.gap")
    folder = str(subject.folder.resolve())
    for found in (*_timers(folder), *_lines(folder)):
        return ok(found)
    idle = _idle_h(subject)
    if idle is not None:
        return ok(f"neither timer nor cron, but something starts checks: the last one "
                  f"was {idle:.1f} h ago")  # fmt: skip
    return warn(
        "nothing was found that starts checks of this farm",
        f'forecaster schedule --farm "{subject.folder}"',
    )


def _timers(folder: str) -> Iterator[str]:
    for manager in ((), ("--user",)):
        listed = answer_of("systemctl", *manager, "list-timers", "--all",
                           "--no-pager", "--output=json")  # fmt: skip
        units = units_of(listed or "")
        if not units:
            continue
        shown = answer_of("systemctl", *manager, "show", "--no-pager",
                          "--property=Id,ExecStart,WorkingDirectory", "--",
                          *units) or ""  # fmt: skip
        for block in shown.split("\n\n"):
            if mentions(block, folder):
                name = block.partition("Id=")[2].partition("\n")[0]
                yield f"systemd starts {name}"


def units_of(listed: str) -> list[str]:
    """What timers start, by ``systemctl list-timers --output=json``."""
    try:
        plain = json.loads(listed)
    except ValueError:
        return []
    rows = plain if isinstance(plain, list) else []
    named = [each.get("activates") for each in rows if isinstance(each, dict)]
    return [str(each) for each in named if each][:MOST_TIMERS]


def _lines(folder: str) -> Iterator[str]:
    tables = {"crontab -l": answer_of("crontab", "-l") or ""}
    for top in TABLES:
        for path in sorted(top.iterdir()) if top.is_dir() else [top]:
            try:
                tables[str(path)] = path.read_text(encoding="utf-8", errors="replace")
            except OSError:
                continue
    for name, table in tables.items():
        for line in table.splitlines():
            if not line.lstrip().startswith("#") and mentions(line, folder):
                yield f"cron starts checks ({name})"


def mentions(text: str, folder: str) -> bool:
    """Whether a command checks the farm of a folder, however it is quoted."""
    plain = text.replace("\\", "").replace('"', "").replace("'", "")
    wanted = folder.replace("\\", "").replace('"', "").replace("'", "")
    at = plain.find(wanted)
    while at >= 0:
        after = plain[at + len(wanted) :][:1]
        if after in {"", "/", " ", ";", "\n"}:
            return "forecaster" in plain and (" check" in plain or " run" in plain)
        at = plain.find(wanted, at + 1)
    return False


def _idle_h(subject: Subject) -> float | None:
    """Hours since the last check, if that is not long."""
    farm = subject.farm
    if farm is None:
        return None
    try:
        with Reader.of(subject.state) as reader:
            last = reader.last_run(subject.now + np.timedelta64(1, "s"))
    except ForecasterError:
        return None
    if last is None:
        return None
    idle = float((subject.now - last.started) / hours(1))
    return idle if idle <= GAP_PERIODS * farm.alerts.rules.period_h else None
