"""What a look changed, in words: "4 days earlier", "from 22 to 7 days"."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.planning.uneven import Choice
from forecaster.render import words

if TYPE_CHECKING:
    from forecaster.domain.outlook import LookView, UnevenView
    from forecaster.render.words import LocalClock

DAY = np.timedelta64(1, "D")

_CHOICES = {
    Choice.GRAZE_HARD: "graze it hard again, as half of the heads are not out yet",
    Choice.EARLY_AND_AGAIN: (
        "a translocated active early, where the label allows, and a second pass for "
        "the late heads"
    ),
    Choice.SPLIT: "split the paddock and treat each part at its own time",
    Choice.CUT: "cut silage or hay",
    Choice.LEAVE: "leave it this year",
}


def look_words(look: LookView, weed: str, clock: LocalClock) -> str:
    """What the latest look changed, in a sentence or three."""
    text = (
        f"{look.heads} heads counted on {clock.day(look.moment)} "
        f"{_changed(look, weed.lower())}"
    )
    if look.small:
        text += "; a small count: a few more heads would say more"
    if look.surprising:
        text += (
            "; the model holds such a count next to impossible: check paddock, weed, "
            "date and the break of season"
        )
    return text


def _changed(look: LookView, weed: str) -> str:
    moved = _days(look.before.likely, look.after.likely)
    widths = [_days(each.early, each.late) for each in (look.before, look.after)]
    if moved is None or None in widths:
        return "told too little of the dates ahead to say by how much they moved"
    return f"{_moved(moved, weed)} and {_width(*widths)} ({look.stage_words})"  # type: ignore[arg-type]  # None is out


def _days(start: np.datetime64 | None, end: np.datetime64 | None) -> int | None:
    return None if start is None or end is None else round(float((end - start) / DAY))


def _moved(days: int, weed: str) -> str:
    if days == 0:
        return f"left {weed} where it was"
    return f"moved {weed} {words.count(abs(days), 'day')} {_way(days)}"


def _way(days: int) -> str:
    return "later" if days > 0 else "earlier"


def _width(before: int, after: int) -> str:
    if before == after:
        return f"left the range at {words.count(after, 'day')}"
    did = "narrowed" if after < before else "widened"
    return f"{did} the range from {before} to {words.count(after, 'day')}"


def uneven_words(uneven: UnevenView) -> str:
    """That heads are uneven, and what is left to do, in order."""
    ways = "; ".join(
        f"{number}. {_CHOICES[choice]}"
        for number, choice in enumerate(uneven.choices, start=1)
    )
    return (
        f"heads are spread {uneven.factor:.1f} times as widely as usual (uneven "
        f"{words.in_ten(uneven.chance)}): do not spray on the mean. In this order: "
        f"{ways}"
    )
