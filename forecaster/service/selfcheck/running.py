"""Every thing the program can look at in itself, and how that is done.

Each has its limit; one that raises or hangs is a failure of its own and stops no other.
"""

from __future__ import annotations

import difflib
import threading
from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.domain.alerts.finding import Finding, State, fail
from forecaster.errors import UsageError
from forecaster.service.selfcheck import (
    disk_items,
    log_items,
    reach_items,
    schedule_items,
    settings_items,
    state_items,
    time_items,
    version_items,
)
from forecaster.service.selfcheck.subject import Item

if TYPE_CHECKING:
    from collections.abc import Collection

    from forecaster.service.selfcheck.subject import Subject

ITEMS = (
    Item("cfg.parse", "farm.toml can be read", settings_items.parse),
    Item("cfg.semantic", "every value of the farm's files", settings_items.semantic),
    Item("cfg.place", "place and time zone go together", settings_items.place),
    Item("log.read", "looks, results and records, every line", log_items.readable),
    Item("rec.chain", "every link of the spray records", log_items.chain),
    Item("rec.law", "records that lack what the law lists", log_items.law),
    Item("time.sync", "something keeps the clock right", time_items.sync),
    Item("time.zone", "rules of the time zone, their version", time_items.zone),
    Item("time.skew", "the clock against others", time_items.skew),
    Item("db.open", "the state can be opened", state_items.opened),
    Item("db.check", "SQLite's own quick look at it", state_items.quick),
    Item("db.rows", "every row against its checksum", state_items.rows),
    Item("db.backup", "age of the newest copy, and a trial", state_items.copies),
    Item("db.fs", "the disk is of this computer and has room", disk_items.disk),
    Item("net.source", "age of the weather; one small question", reach_items.source),
    Item("hb.ping", "the watcher outside, last success", reach_items.heartbeat),
    Item("sched.gap", "gaps between checks in two weeks", state_items.gap),
    Item("sched.unit", "something starts checks", schedule_items.unit),
    Item("queue.age", "how long messages have waited", state_items.queue),
    Item("sec.modes", "state and secrets are closed to others", disk_items.modes),
    Item("ver.deps", "installed packages are as asked for", version_items.packages),
)
CHEAP = frozenset(
    {
        "db.open", "db.check", "db.rows", "db.backup", "db.fs", "sched.gap",
        "queue.age", "sec.modes", "log.read", "rec.chain",
    }
)  # fmt: skip
"""Those that a check can do by the way, without network."""
SHOWN = 2
"""Characters of a secret that may be seen."""


def items_of(subject: Subject) -> tuple[Item, ...]:
    """All there is for a farm, its channels after the weather."""
    farm = subject.farm
    ways = () if farm is None else tuple(reach_items.channels(farm))
    at = next(n for n, item in enumerate(ITEMS) if item.id == "hb.ping")
    return (*ITEMS[:at], *ways, *ITEMS[at:])


def chosen(items: tuple[Item, ...], only: Collection[str]) -> tuple[Item, ...]:
    """Those of the ids named; all where none is.

    Raises
    ------
    UsageError
        If one is unknown, with the nearest ids.
    """
    known = [each.id for each in items]
    for name in only:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=3, cutoff=0.4)
            hint = f"did you mean {' or '.join(near)}?" if near else "see --list"
            raise UsageError(f"--only {name!r}: there is no such check; {hint}")
    return tuple(each for each in items if not only or each.id in only)


def looked_at(subject: Subject, items: tuple[Item, ...]) -> list[Finding]:
    """Look at each in turn; no secret is in what is said."""
    hidden = subject.secrets()
    return [_scrubbed(_look(each, subject), hidden) for each in items]


def _look(item: Item, subject: Subject) -> Finding:
    answer: list[Finding] = []

    def run() -> None:
        try:
            answer.append(item.look(subject))
        except Exception as error:  # noqa: BLE001 - a fault in here is a finding, too
            said = f"{type(error).__name__}: {error}"
            answer.append(_broken(" ".join(said.split())[:300], item))

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(item.limit_s)
    if not answer:
        return _broken(f"no answer within {item.limit_s:g} s", item)
    return replace(answer[0], id=item.id)


def _broken(why: str, item: Item) -> Finding:
    found = fail(f"this check itself failed: {why}",
                 f"forecaster selfcheck --only {item.id}", 70)  # fmt: skip
    return replace(found, id=item.id)


def _scrubbed(found: Finding, hidden: tuple[str, ...]) -> Finding:
    def clean(text: str) -> str:
        for each in hidden:
            text = text.replace(each, f"{each[:SHOWN]}…")
        return text

    return replace(
        found,
        words=clean(found.words),
        remedy=clean(found.remedy),
        more=tuple(clean(each) for each in found.more),
    )


def selfcheck(
    subject: Subject, only: Collection[str] = (), *, send_test: bool = False
) -> list[Finding]:
    """Look at everything, or at what is named.

    ``send_test`` also sends a test message through each channel among it.

    Raises
    ------
    UsageError
        If there is no check of that name.
    """
    items = chosen(items_of(subject), only)
    if send_test and subject.farm is not None:
        named = {each.id.removeprefix("chan.") for each in items}
        items += tuple(
            each
            for each in reach_items.tests(subject.farm)
            if each.id.removeprefix("test.") in named
        )
    return looked_at(subject, items)


def failed(findings: list[Finding]) -> list[Finding]:
    """Those that failed."""
    return [each for each in findings if each.state is State.FAIL]
