"""How a farm's people are to be reached, as the rest of the program reads it."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.alerts.messages import Way
from forecaster.domain.alerts.records import Rank
from forecaster.settings.alert_rules import rules_of
from forecaster.settings.alerts_file import ID, RESERVED, ChannelEntry

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from forecaster.domain.alerts.rules import Rules
    from forecaster.settings.alert_rules import AlertsFile
    from forecaster.settings.alerts_file import AlertsEntry

DEFAULT_FILE = "alerts.txt"
"""Where alerts go while nobody has typed a channel."""


@dataclass(frozen=True, slots=True)
class Alerts:
    """``[alerts]`` of a farm file with what it leaves out filled in."""

    rules: Rules
    every: str
    digest_at: dt.time
    quiet_from: dt.time | None
    quiet_until: dt.time | None
    hectares_an_hour: float
    rate_assumed: bool
    """Whether nobody has typed how fast the rig is."""
    heartbeat: str | None
    """The name of a secret."""
    private_hosts: tuple[str, ...]
    channels: tuple[ChannelEntry, ...]

    @property
    def ways(self) -> tuple[Way, ...]:
        """The channels, in the order they are tried."""
        return tuple(
            Way(
                each.name,
                frozenset(Rank(rank) for rank in each.ranks),
                second=each.second,
                silent=each.kind == "file",
            )
            for each in self.channels
        )


def alerts_of(entry: AlertsEntry, numbers: AlertsFile) -> Alerts:
    """The farm's alerts; without a channel they go to a file."""
    assumed = numbers.hours.hectares_an_hour.value
    channels = tuple(entry.channel) or (
        ChannelEntry(name="file", kind="file", file=DEFAULT_FILE),
    )
    return Alerts(
        rules=rules_of(numbers, entry.check),
        every=entry.check,
        digest_at=entry.digest_at,
        quiet_from=entry.quiet_from,
        quiet_until=entry.quiet_until,
        hectares_an_hour=entry.hectares_an_hour or assumed,
        rate_assumed=entry.hectares_an_hour is None,
        heartbeat=entry.heartbeat,
        private_hosts=tuple(entry.private_hosts),
        channels=channels,
    )


def ids_of(typed: Iterable[tuple[str, str | None]]) -> list[str]:
    """An id for each paddock (name, typed id), none twice.

    One that is not typed is made from the name: it changes if the name does.
    """
    pairs = list(typed)
    taken = {own for _, own in pairs if own is not None}
    found = []
    for name, own in pairs:
        made = own or slug(name)
        if own is None and made in taken:
            made = _with_tail(made, name)
        taken.add(made)
        found.append(made)
    return found


def slug(name: str) -> str:
    """A name as an id: plain letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    text = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:48].strip("-")
    whole = ID.fullmatch(text) and text not in RESERVED
    lost = len(re.sub(r"\W", "", name)) > len(text.replace("-", ""))
    return text if whole and not lost else _with_tail(text or "paddock", name)


def _with_tail(text: str, name: str) -> str:
    same = unicodedata.normalize("NFC", name).casefold().encode()
    return f"{text}-{hashlib.blake2b(same, digest_size=4).hexdigest()}"
