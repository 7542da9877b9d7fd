"""Whether a change has been seen in enough forecasts to be believed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.alerts.events import explained, new_source
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Kept, Phase, Votes

if TYPE_CHECKING:
    from forecaster.domain.alerts.events import Context


def vote(kept: Kept, target: Phase, context: Context) -> Votes:
    """Count this forecast, once; an older one than was counted is no other.

    Forecasts that call for different steps the same way agree on the nearest. Of a
    service that was left none counts for a step back.
    """
    now, issue = context.farm.now, context.farm.issued
    before = kept.votes
    back = target.rank < kept.phase.rank
    if (
        before is None
        or (before.to.rank < kept.phase.rank) != back
        or (back and new_source(kept, context))
    ):
        before = Votes(target, (), now)
    issues = before.issues
    if issue is not None and (not issues or issue > issues[-1]):
        issues = (*issues, issue)
    nearest = min(
        before.to, target, key=lambda phase: abs(phase.rank - kept.phase.rank)
    )
    return Votes(nearest, issues[-context.rules.votes :], before.since)


def confirmed(kept: Kept, waiting: Votes, context: Context) -> bool:
    """Whether enough distinct forecasts agree, or nothing more is to be waited for.

    Dates that moved because somebody counted heads or changed a file are no tremble.
    Where checks are far apart, a second forecast would come too late to be of use;
    only a step back on the first answer of another service waits for it.
    """
    if explained(kept, context) or len(waiting.issues) >= context.rules.votes:
        return True
    rare = context.rules.period_h >= context.rules.votes_span_h
    back = waiting.to.rank < kept.phase.rank
    first = new_source(kept, context) or waiting.since < context.farm.now
    return rare and not (back and first)


def waited(waiting: Votes, context: Context) -> bool:
    """Whether an opening on forecast hours has waited for as long as it may."""
    since = context.farm.now - waiting.since
    return bool(since >= hours(context.rules.wait_at_most_h))
