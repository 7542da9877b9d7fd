"""db.* but for the disk, queue.age, sched.gap: what is kept, and what it tells."""

from __future__ import annotations

import re
import shutil
from contextlib import closing
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.finding import Finding, fail, ok, skipped, warn
from forecaster.domain.alerts.hindsight import GAP_PERIODS
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Rank, Sending
from forecaster.errors import ForecasterError, InputMissingError
from forecaster.service.selfcheck.settings_items import NO_FARM
from forecaster.store import backup, marker
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.alerts.records import Message, Run
    from forecaster.domain.alerts.rules import Rules
    from forecaster.service.selfcheck.subject import Subject

BACKUP_LATE_D = 2
"""Days the newest copy may be behind the last check: it is made once a day."""
LATE_H = 24.0
"""[h] for which a message may wait that is not urgent. Assumed."""
LOOK_BACK_D = 14
GAPS_WARN, GAP_WARN_H = 3, 24.0
"""More gaps, or a longer one, in those days are worth a warning. Assumed."""
_WHY = re.compile(r"\(([^()]*)\)")
"""The reason inside the error of a state that cannot be read."""
_GONE = "the state cannot be read; see db.open"


def opened(subject: Subject) -> Finding:
    """db.open: whether the state is there, ours and up to date."""
    try:
        with Reader.of(subject.state) as reader:
            return ok(f"{reader.newest_run()} checks are kept")
    except InputMissingError as error:
        if marker.read(subject.state) is not None:
            return fail(str(error), subject.check, 74)
        return skipped(f"no check has run yet: {subject.check}")
    except ForecasterError as error:
        return fail(str(error), subject.check, error.exit_code)


def _with(subject: Subject, look: Callable[[Reader], Finding]) -> Finding:
    """Look at the state; where it cannot be opened db.open says why."""
    try:
        reader = Reader.of(subject.state)
    except InputMissingError:
        return skipped("no check has run yet")
    except ForecasterError:
        return skipped(_GONE)
    with closing(reader):
        return look(reader)


def quick(subject: Subject) -> Finding:
    """db.check: SQLite's own quick look."""

    def look(reader: Reader) -> Finding:
        try:
            reader.quick_check()
        except ForecasterError as error:
            return fail(str(error), subject.check, error.exit_code)
        return ok("SQLite finds nothing wrong")

    return _with(subject, look)


def rows(subject: Subject) -> Finding:
    """db.rows: every row against its checksum."""

    def look(reader: Reader) -> Finding:
        try:
            reader.every_row()
        except ForecasterError as error:
            return fail(str(error), subject.check, error.exit_code)
        return ok("every row matches its checksum")

    return _with(subject, look)


def copies(subject: Subject) -> Finding:
    """db.backup: how old the newest copy is, and whether it could be used."""
    return _with(subject, lambda reader: _copies(subject, reader))


def _copies(subject: Subject, reader: Reader) -> Finding:
    last = reader.last_run(subject.now + np.timedelta64(1, "s"))
    found = backup.of(subject.state)
    if last is None:
        return skipped("no check has run yet")
    if not found:
        return fail("there is no copy of the state", subject.check, 74)
    newest = found[0]
    why = _trial(newest)
    if why:
        mend = f'delete "{newest}"; the next check makes a new one'
        return fail(f"the copy {newest.name} cannot be used: {why}", mend, 74)
    day = newest.stem.removeprefix("state-")
    made = np.datetime64(f"{day[:4]}-{day[4:6]}-{day[6:]}", "D")
    behind = int((last.started.astype("datetime64[D]") - made).astype(int))
    said = f"the newest copy is of {made} and can be used"
    if behind >= BACKUP_LATE_D:
        return fail(f"{said}, {behind} days before the last check",
                    f'make room and rights in "{newest.parent}"', 74)  # fmt: skip
    return ok(said)


def _trial(copy: Path) -> str:
    """Why a copy could not be put back, tried elsewhere; or nothing."""
    try:
        with TemporaryDirectory(ignore_cleanup_errors=True) as scratch:
            shutil.copyfile(copy, Path(scratch) / copy.name)
            with Reader.of(Path(scratch), copy.name) as reader:
                reader.quick_check()
                reader.every_row()
    except OSError as error:
        return error.strerror or type(error).__name__
    except ForecasterError as error:
        found = _WHY.search(str(error))
        return found[1] if found else " ".join(str(error).split())
    return ""


def queue(subject: Subject) -> Finding:
    """queue.age: how long the oldest message has waited."""
    if subject.farm is None:
        return skipped(NO_FARM)
    rules = subject.farm.alerts.rules
    return _with(subject, lambda reader: _queue(subject, reader, rules))


def _queue(subject: Subject, reader: Reader, rules: Rules) -> Finding:
    waiting = [
        each
        for each in reader.deliveries(state=Sending.WAITING)
        if not each.stand_in and not each.note.startswith("hold.")
    ]
    messages = reader.messages({each.message for each in waiting}).values()
    if not messages:
        return ok("nothing waits")
    late = [each for each in messages if _late(each, subject.now, rules)]
    oldest = min(each.made for each in messages)
    said = f"{len(messages)} waiting, the oldest for {_hours(subject.now - oldest)}"
    if not late:
        return ok(said)
    channels = ", ".join(sorted({each.channel for each in waiting}))
    return fail(f"{said} ({channels})",
                f'forecaster selfcheck --farm "{subject.folder}" --send-test',
                75)  # fmt: skip


def _late(message: Message, now: np.datetime64, rules: Rules) -> bool:
    urgent = message.rank is Rank.URGENT
    allowed = rules.urgent_late_min / 60 if urgent else LATE_H
    return bool(now - message.made > hours(allowed))


def gap(subject: Subject) -> Finding:
    """sched.gap: gaps between checks in the last two weeks."""
    if subject.farm is None:
        return skipped(NO_FARM)
    period = subject.farm.alerts.rules.period_h
    since = subject.now - hours(LOOK_BACK_D * 24)
    return _with(
        subject,
        lambda reader: _gap(
            subject, reader.runs(since, subject.now), reader.newest_run(), period
        ),
    )


def _gap(subject: Subject, runs: list[Run], newest: int, period_h: float) -> Finding:
    remedy = f'forecaster schedule --farm "{subject.folder}"'
    if newest == 0:
        return skipped("no check has run yet")
    if not runs:
        return fail(f"no check in {LOOK_BACK_D} days", remedy, 75)
    starts = sorted(each.started for each in runs)
    idle = subject.now - starts[-1]
    if idle > hours(GAP_PERIODS * period_h):
        return fail(f"the last check was {_hours(idle)} ago; one is due every "
                    f"{period_h:g} h", remedy, 75)  # fmt: skip
    spans = [other - one for one, other in pairwise(starts)]
    found = [each for each in spans if each > hours(GAP_PERIODS * period_h)]
    if not found:
        return ok(f"{len(runs)} checks in {LOOK_BACK_D} days, none left out for long")
    longest = max(found)
    said = f"{len(found)} gaps in {LOOK_BACK_D} days, the longest {_hours(longest)}"
    if len(found) > GAPS_WARN or longest > hours(GAP_WARN_H):
        return warn(said, remedy)
    return ok(said)


def _hours(span: np.timedelta64) -> str:
    count = float(span / hours(1))
    return f"{count * 60:.0f} min" if count < 1 else f"{count:.1f} h"
