"""The short reasons that are kept, in words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from forecaster.domain.alerts.records import Change, Sending

if TYPE_CHECKING:
    from forecaster.domain.alerts.records import Delivery
    from forecaster.render.words import LocalClock

_EVENTS = {f"event.{each.name.lower()}": each.value for each in Change}
_REASONS = {
    "hold.band": "the dates have moved back a little, within what forecasts tremble: "
    "nothing is taken back for that",
    "hold.unseen": "the forecast says more than has been seen so far: a close is told "
    "once observed hours reach it, or are over a day late",
    "hold.hours unknown": "told for want of good hours; whether there are more cannot "
    "be judged, so it stands",
    "hold.no weather": "no weather, or too old to judge by: nothing is told of a "
    "window on it (the want of weather itself is told)",
    "hold.clock": "the computer's clock was wrong: nothing is told by date",
    "skip.sprayed": "marked sprayed: it is followed in silence",
    "skip.retired": "no longer in the farm file",
    "unknown": "cannot be told: its dates or its hours are not known (said once)",
}
_CANCELS = {
    "cancel.no such channel": "the channel is no longer in the farm file",
    "cancel.accepted elsewhere": "somebody else was reached by then",
    "cancel.sprayed": "the window was marked sprayed meanwhile",
    "cancel.retired": "the window was no longer watched",
    "cancel.retracted": "it was taken back meanwhile",
    "cancel.superseded": "the window had gone on; a later message says so",
    "cancel.newer digest": "a newer digest tells it",
}
EXIT_WORDS = {
    64: "a wrong command line",
    65: "a data file is wrong",
    66: "a file is missing",
    69: "no weather that can be used",
    70: "a fault of the program",
    71: "the system lacks something",
    73: "a result could not be written",
    74: "the state could not be read or written",
    75: "weather getting old, a wrong clock, or a message not handed over yet",
    76: "a weather service answered nonsense",
    77: "a channel or a weather service cannot be used: a secret or a permission",
    78: "a settings file is wrong",
}
_CONFIRM = re.compile(r"hold\.confirm (\d+)/(\d+)")


def reason(code: str) -> str:
    """A reason in words; one that is not known is shown as it is."""
    if code in _EVENTS:
        return f"happened: {_EVENTS[code]}"
    if code.startswith("same."):
        phase = code.removeprefix("same.").replace("_", " ")
        return f"still {phase}: nothing new to tell"
    seen = _CONFIRM.fullmatch(code)
    if seen:
        return (
            f"waits for another forecast to agree (seen in {seen[1]} of "
            f"{seen[2]} so far)"
        )
    return _REASONS.get(code, code)


def exit_words(code: int | None) -> str:
    """How a check ended."""
    if code is None:
        return "never ended: killed, or the power failed"
    if code == 0:
        return "ended well"
    return f"exit {code}: {EXIT_WORDS.get(code, 'see docs/reference/commands.md')}"


def delivery(each: Delivery, clock: LocalClock) -> str:
    """What became of a message in one channel."""
    tries = f" (tried {each.attempts} times)" if each.attempts > 1 else ""
    ended = "" if each.ended is None else f" {clock.hour(each.ended)}"
    if each.state is Sending.SENT:
        past = note(each.note.removeprefix("accepted").removeprefix(" after "))
        waited = f", after: {past}" if past else ""
        return f"{each.channel}: accepted{ended}{waited}{tries}"
    if each.state is Sending.CANCELLED:
        return f"{each.channel}: cancelled{ended}: {note(each.note)}{tries}"
    if each.state is Sending.DEAD:
        return f"{each.channel}: given up{ended}: {note(each.note)}{tries}"
    then = clock.hour(each.next_at)
    if each.stand_in and not each.attempts:
        return f"{each.channel}: goes out {then} if nobody was reached by then"
    if each.note == "hold.quiet":
        return f"{each.channel}: held until the quiet hours end, {then}"
    why = f": {note(each.note)}" if each.note else ""
    return f"{each.channel}: waits{why}; next try {then}{tries}"


def note(text: str) -> str:
    """A note of a delivery in words."""
    if text == "hold.quiet":
        return "held for the quiet hours"
    for known in ("later: ", "dead: "):
        if text.startswith(known):
            return text.removeprefix(known) or "not accepted"
    return _CANCELS.get(text, text)
