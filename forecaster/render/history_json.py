"""The history of some days as plain values; times are UTC, ISO 8601."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render import history_words as say
from forecaster.render.plain_values import iso

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.alerts.history_page import (
        EventPast,
        HistoryPage,
        MessagePast,
        WindowPast,
    )
    from forecaster.domain.alerts.records import Run


def tree(page: HistoryPage) -> dict[str, Any]:
    """The page as plain dicts and lists."""
    return {
        "farm": page.farm,
        "zone": page.zone,
        "first_day": page.first,
        "last_day": page.last,
        "since": iso(page.since),
        "until": iso(page.until),
        "asked_at": iso(page.now),
        "checks": [_run(each) for each in page.checks.runs],
        "last_check_before": _started(page.checks.before),
        "gaps": [
            {"since": iso(gap.since), "until": iso(gap.until)}
            for gap in page.checks.gaps
        ],
        "snoozes": [
            {
                "paddock": paddock,
                "active": snooze.active or None,
                "made": iso(snooze.made),
                "until": iso(snooze.until),
                "by": snooze.by,
            }
            for snooze, paddock in page.snoozes
        ],
        "windows": [_window(each) for each in page.windows],
        "events": [_event(each) for each in page.events],
        "messages": [_message(each) for each in page.messages],
    }


def _run(run: Run) -> dict[str, Any]:
    return {
        "id": run.id,
        "started": iso(run.started),
        "ended": _moment(run.ended),
        "exit": run.exit,
        "ok": run.ok,
        "wanting": list(run.notes),
        "weather_issued": _moment(run.issued),
        "source": run.source,
        "counts": run.counts,
    }


def _started(run: Run | None) -> str | None:
    return None if run is None else iso(run.started)


def _moment(moment: np.datetime64 | None) -> str | None:
    return None if moment is None else iso(moment)


def _window(past: WindowPast) -> dict[str, Any]:
    key = past.key
    return {
        "window": str(key),
        "paddock": past.paddock,
        "weed": past.weed,
        "active": key.active,
        "phase": None if past.phase is None else past.phase.value,
        "reasons": [
            {
                "check": step.run,
                "since": _moment(step.since),
                "reason": step.reason,
                "words": say.reason(step.reason),
            }
            for step in past.steps
        ],
    }


def _event(past: EventPast) -> dict[str, Any]:
    event = past.event
    return {
        "key": event.key,
        "change": event.change.value,
        "rank": event.rank.value,
        "made": iso(event.made),
        "at": iso(event.at),
        "window": None if event.window is None else str(event.window),
        "paddock": past.paddock or None,
        "because": event.because,
        "snoozed": past.snoozed,
        "messages": [each.key for each in past.told],
    }


def _message(past: MessagePast) -> dict[str, Any]:
    return {
        "key": past.message.key,
        "rank": past.message.rank.value,
        "made": iso(past.message.made),
        "events": [each.event.key for each in past.events],
        "deliveries": [
            {
                "channel": each.channel,
                "state": each.state.value,
                "tries": each.attempts,
                "why": each.note,
                "next_at": iso(each.next_at),
                "ended": _moment(each.ended),
                "stand_in": each.stand_in,
            }
            for each in past.deliveries
        ],
    }
