"""A word to a watcher outside, which raises the alarm when none comes."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.notify.hosts import fault_of
from forecaster.notify.listening import Listening

if TYPE_CHECKING:
    from forecaster.settings.secrets import Secret

LIMIT_S = 5.0
"""[s] of one word; two of them in a check."""
TRIES = 3
REDIRECTS = 300
"""A watcher that sends us elsewhere has not heard."""


@dataclass(frozen=True, slots=True)
class Heartbeat:
    """Tells a watcher when a check begins and how it ended; its silence is the alarm.

    Whatever becomes of it changes nothing else.
    """

    address: Secret | None
    private_hosts: tuple[str, ...]

    def start(self) -> str:
        """Say that a check begins; what went wrong, or nothing."""
        return self._post("/start", {})

    def end(self, *, ok: bool, counts: dict[str, int]) -> str:
        """Say how it ended; counts only, no names and no places."""
        return self._post("" if ok else "/fail", counts)

    def _post(self, tail: str, counts: dict[str, int]) -> str:
        if self.address is None:
            return ""
        base = self.address.reveal().rstrip("/")
        why = fault_of(base, self.private_hosts)
        if why:
            return why
        return _told(base + tail, json.dumps(counts))


def _told(address: str, body: str) -> str:
    import requests

    said = ""
    with Listening(), requests.Session() as session:
        session.trust_env = False
        for _ in range(TRIES):
            try:
                answer = session.post(
                    address,
                    data=body,
                    headers={"Content-Type": "application/json"},
                    timeout=LIMIT_S / TRIES,
                    allow_redirects=False,
                    stream=True,
                )
                answer.close()
            except requests.RequestException as error:
                # Its own words hold the address, which is a secret.
                said = f"the watcher cannot be reached ({type(error).__name__})"
                continue
            if answer.status_code < REDIRECTS:
                return ""
            said = f"the watcher answered {answer.status_code}"
    return said
