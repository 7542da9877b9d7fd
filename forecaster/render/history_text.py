"""The history of some days in words: why there was an alert, or why there was none."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts.records import Rank
from forecaster.render import history_words as say
from forecaster.render.words import LocalClock, bullet, count, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.alerts.history_page import (
        Checks,
        EventPast,
        Gap,
        HistoryPage,
        MessagePast,
        Step,
        WindowPast,
    )
    from forecaster.domain.alerts.records import Run

NAMED = 10
"""Windows named in one line; of more, so many."""
STEPS = 12
"""Reasons of one window shown; of more, the last ones."""
_HOUR = np.timedelta64(3600, "s")


def render(page: HistoryPage) -> str:
    """The whole page."""
    clock = LocalClock(page.zone)
    span = page.first if page.first == page.last else f"{page.first} to {page.last}"
    asked = f", {page.asked}" if page.asked else ""
    lines = [
        *wrapped(f"{page.farm}{asked}: what was found and told, {span}"),
        "",
        *_part("Checks", _checks(page, clock)),
        *_part("Quiet asked for", _snoozes(page, clock)),
        *_part("Windows, and why there was a message or none", _windows(page, clock)),
        *_part("What happened", _events(page, clock)),
        *_part("Messages", _messages(page, clock)),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _part(title: str, lines: list[str]) -> list[str]:
    return [title, "-" * len(title), *lines, ""] if lines else []


# --------------------------------------------------------------------- checks


def _checks(page: HistoryPage, clock: LocalClock) -> list[str]:
    checks = page.checks
    lines = wrapped(_how_many(checks, clock))
    for gap in checks.gaps:
        lines += bullet(_gap(gap, clock, page.now))
    for code, notes in dict.fromkeys((r.exit, r.notes) for r in checks.troubled):
        alike = [r for r in checks.troubled if (r.exit, r.notes) == (code, notes)]
        lines += bullet(_trouble(alike, clock))
    return lines


def _how_many(checks: Checks, clock: LocalClock) -> str:
    if not checks.runs:
        last = checks.before
        before = (
            "" if last is None else f"; the last before: {clock.hour(last.started)}"
        )
        return f"NO CHECK RAN{before}. Nothing could be told."
    well = len(checks.runs) - len(checks.troubled)
    first, last = checks.runs[0], checks.runs[-1]
    return (
        f"{count(len(checks.runs), 'check')}, the first {clock.hour(first.started)}, "
        f"the last {clock.hour(last.started)}; {well} ended well"
    )


def _gap(gap: Gap, clock: LocalClock, now: np.datetime64) -> str:
    length = float((gap.until - gap.since) / _HOUR)
    going_on = " (now)" if gap.until == now else ""
    return (
        f"NO CHECK from {clock.hour(gap.since)} to {clock.hour(gap.until)}{going_on}, "
        f"{length:.1f} h: nothing could be told then"
    )


def _trouble(runs: list[Run], clock: LocalClock) -> str:
    said = say.exit_words(runs[0].exit)
    notes = f"; wanting: {', '.join(runs[0].notes)}" if runs[0].notes else ""
    age = _age(runs[-1])
    times = [clock.hour(each.started) for each in runs]
    when = times[0] if len(times) == 1 else f"{times[0]} to {times[-1]}"
    return f"{count(len(runs), 'check')} ({when}) {said}{notes}{age}"


def _age(run: Run) -> str:
    if run.issued is None:
        return "; no weather"
    return f"; weather {float((run.started - run.issued) / _HOUR):.0f} h old"


def _snoozes(page: HistoryPage, clock: LocalClock) -> list[str]:
    lines = []
    for snooze, paddock in page.snoozes:
        active = f", {snooze.active}" if snooze.active else ""
        by = f" by {snooze.by}" if snooze.by else ""
        if snooze.until <= snooze.made:
            said = f"ended {clock.hour(snooze.made)}{by}"
        else:
            span = f"from {clock.hour(snooze.made)} to {clock.full(snooze.until)}"
            said = f"{span}{by}: all but what closes or closed waits for the digest"
        lines += bullet(f"{paddock}{active}: {said}")
    return lines


# -------------------------------------------------------------------- windows


def _windows(page: HistoryPage, clock: LocalClock) -> list[str]:
    if not page.windows and page.checks.runs:
        return ["No window was looked at."]
    alike: dict[object, list[WindowPast]] = {}
    for each in page.windows:
        alike.setdefault((each.phase, each.steps), []).append(each)
    lines: list[str] = []
    for some in alike.values():
        first = some[0]
        phase = "not known any more" if first.phase is None else first.phase.value
        lines += wrapped(f"{_names(some)}: {phase}")
        lines += _steps(first.steps, clock)
    return lines


def _names(windows: list[WindowPast]) -> str:
    named = [f"{w.paddock} ({w.weed}, {w.key.active})" for w in windows[:NAMED]]
    more = len(windows) - len(named)
    rest = f" and {more:,} more" if more else ""
    return f"{', '.join(named)}{rest}"


def _steps(steps: tuple[Step, ...], clock: LocalClock) -> list[str]:
    shown = steps[-STEPS:]
    left_out = len(steps) - len(shown)
    lines = bullet(f"{left_out} earlier reasons: --format json") if left_out else []
    for step in shown:
        since = f"check {step.run}" if step.since is None else clock.hour(step.since)
        lines += bullet(f"from {since}: {say.reason(step.reason)} [{step.reason}]")
    return lines


# --------------------------------------------------------- events and messages


def _events(page: HistoryPage, clock: LocalClock) -> list[str]:
    if not page.events:
        return ["Nothing."]
    return [line for each in page.events for line in bullet(_event(each, clock))]


def _event(past: EventPast, clock: LocalClock) -> str:
    event = past.event
    because = f", because {event.because}" if event.because else ""
    return (
        f"{clock.hour(event.made)} {_whose(past)}: {event.change.value} "
        f"({event.rank.value}){because}; {_telling(past, clock)}"
    )


def _whose(past: EventPast) -> str:
    window = past.event.window
    if window is None:
        return "the farm"
    return f"{past.paddock} ({past.weed}, {window.active})"


def _telling(past: EventPast, clock: LocalClock) -> str:
    if past.told:
        first = past.told[0]
        said = f"in the {first.rank.value} message of {clock.hour(first.made)}"
    elif past.event.rank is Rank.DIGEST:
        said = "for the digest, which has not told it yet"
    else:
        said = "in no message"
    return f"{said}; quiet was asked for" if past.snoozed else said


def _messages(page: HistoryPage, clock: LocalClock) -> list[str]:
    if not page.messages:
        return ["None."]
    return [line for each in page.messages for line in _message(each, clock)]


def _message(past: MessagePast, clock: LocalClock) -> list[str]:
    message = past.message
    kind = "test of a channel" if message.rank is Rank.RECEIPT else message.rank.value
    told = [f"{_whose(each)}: {each.event.change.value}" for each in past.events]
    more = len(told) - NAMED
    shown = "; ".join(told[:NAMED]) + (f"; and {more:,} more" if more > 0 else "")
    about = f": {shown}" if shown else ""
    lines = wrapped(f"{clock.hour(message.made)} {kind}{about}")
    if not past.deliveries:
        lines += bullet("through no channel")
    return [*lines, *_channels(past, clock)]


def _channels(past: MessagePast, clock: LocalClock) -> Iterable[str]:
    for each in past.deliveries:
        yield from bullet(say.delivery(each, clock))
