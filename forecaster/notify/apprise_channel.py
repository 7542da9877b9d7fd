"""A channel that the apprise library delivers: mail, push, webhooks.

The library says yes or no. Whether a no is for now or for good stands only in what it
writes to its log, which is read here and shown to nobody: it may hold the address.
"""

from __future__ import annotations

import os
import re
import threading
import warnings
from functools import cache
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from forecaster.domain.alerts.letter import Fate, Letter, Outcome
from forecaster.domain.alerts.records import Rank
from forecaster.notify.hosts import host_fault
from forecaster.notify.listening import Listening

if TYPE_CHECKING:
    from forecaster.settings.secrets import Secret

CONNECT_S = 8.0
SHORT_BODY = 250
"""A channel that takes fewer characters than this gets the line for a phone."""
_HTTP = re.compile(r"\berror=(\d{3})\b")
_SMTP = re.compile(r"\((\d{3}), b?['\"]")
_HTTP_LATER = frozenset({408, 425, 429})
_CERTIFICATE = ("certificate verify failed", "CERTIFICATE_VERIFY_FAILED")
_MUTE = frozenset(
    {"syslog", "rsyslog", "growl", "snarl", "dbus", "kde", "qt", "glib", "gnome",
     "macosx", "windows", "mqtt"}
)  # fmt: skip
"""Schemes of the library that send and hear no answer: nobody there would pass for
accepted."""
_OPEN = frozenset({"json", "xml", "form", "ntfy", "gotify", "apprise", "mailto"})
"""Schemes without encryption; only within the farm's own network."""
_PUBLIC = 443


@cache
def _library() -> Any:
    """The library with all its channels, loaded once; it warns of its own inside."""
    # The library asks with the proxies of the environment unless told not to.
    os.environ["NO_PROXY"] = os.environ["no_proxy"] = "*"
    with warnings.catch_warnings(), Listening():
        warnings.simplefilter("ignore", DeprecationWarning)
        import apprise

        apprise.Apprise.instantiate("json://localhost")
    return apprise


class AppriseChannel:
    """One address of the library."""

    def __init__(
        self, name: str, address: Secret, private_hosts: tuple[str, ...] = ()
    ) -> None:
        self.name = name
        self._address = address
        self._private = frozenset(each.lower() for each in private_hosts)

    def send(self, letter: Letter, deadline_s: float) -> Outcome:
        """Hand a message to the library; what hangs is left behind and tried again."""
        return self._within(deadline_s, lambda: self._send(letter, deadline_s))

    def probe(self, deadline_s: float) -> Outcome:
        """Whether the address can be read and its host reached; nothing is sent."""
        return self._within(deadline_s, self._ready)

    def _within(self, deadline_s: float, work: Any) -> Outcome:
        answer: list[Outcome] = []
        _library()

        def run() -> None:
            try:
                answer.append(work())
            except Exception as error:  # noqa: BLE001 - its words may hold the address
                answer.append(
                    Outcome(Fate.LATER, f"the channel failed ({type(error).__name__})")
                )

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        thread.join(deadline_s)
        if answer:
            return answer[0]
        return Outcome(Fate.LATER, f"no answer within {deadline_s:g} s")

    def _ready(self) -> Outcome:
        made = self._made(CONNECT_S)
        return made if isinstance(made, Outcome) else Outcome(Fate.ACCEPTED)

    def _send(self, letter: Letter, deadline_s: float) -> Outcome:
        apprise = _library()
        made = self._made(deadline_s)
        if isinstance(made, Outcome):
            return made
        short = made.body_maxlen < SHORT_BODY
        body = letter.short if short else f"{letter.text}\nref {letter.key}"
        kind = (
            apprise.NotifyType.WARNING
            if letter.rank is Rank.URGENT
            else apprise.NotifyType.INFO
        )
        with Listening() as heard:
            sent = made.notify(
                body=body,
                title=" ".join(letter.title.split()),
                notify_type=kind,
                body_format=apprise.NotifyFormat.TEXT,
            )
        if sent:
            return Outcome(Fate.ACCEPTED, receipt=letter.key[:8])
        return refused(heard.text)

    def _made(self, deadline_s: float) -> Any:
        """The library's own channel, or why there is none."""
        fault = self._fault()
        if fault:
            return Outcome(Fate.NEVER, fault)
        apprise = _library()
        asset = apprise.AppriseAsset(
            app_id="forecaster", http_redirects=False, async_mode=False
        )
        with Listening():
            made = apprise.Apprise.instantiate(
                self._address.reveal(), asset=asset, suppress_exceptions=True
            )
        if made is None:
            return Outcome(Fate.NEVER, "the address is none that is known")
        made.socket_connect_timeout = CONNECT_S
        made.socket_read_timeout = max(deadline_s - CONNECT_S, 1.0)
        made.redirects = False
        if getattr(made, "secure", True) is False:
            open_net = self._unencrypted("this address")
            if open_net:
                return Outcome(Fate.NEVER, open_net)
        if not made.verify_certificate:
            return Outcome(Fate.NEVER, "verify=no in the address is not allowed")
        return self._reachable(made) or made

    def _fault(self) -> str:
        """Why an address is never used: no answer comes, or it is not encrypted."""
        scheme = self._address.reveal().partition("://")[0].lower()
        if scheme in _MUTE:
            return f"{scheme}:// gives no answer: nobody would know it had failed"
        return self._unencrypted(scheme) if scheme in _OPEN else ""

    def _unencrypted(self, scheme: str) -> str:
        host = (urlsplit(self._address.reveal()).hostname or "").lower()
        if host in self._private:
            return ""
        return (
            f"{scheme}:// is not encrypted; use its encrypted form, or list its host "
            "in alerts.private_hosts"
        )

    def _reachable(self, made: Any) -> Outcome | None:
        """Look where the host leads; the library looks it up once more itself.

        A name that changes between the two is not caught: the library gives no way
        to hand it an address that was looked at.
        """
        host = str(getattr(made, "smtp_host", "") or getattr(made, "host", "") or "")
        if not host:
            return None
        why = host_fault(
            host, int(made.port or _PUBLIC), private=host.lower() in self._private
        )
        if not why:
            return None
        unknown = why.startswith("its host is not known")
        return Outcome(Fate.LATER if unknown else Fate.NEVER, why)


def refused(log: str) -> Outcome:
    """What a refusal means, by the codes in the library's log; its words are dropped.

    RFC 9110 section 15 for HTTP, RFC 5321 section 4.2.1 for SMTP: 4yz is for now,
    5yz for good.
    """
    if any(words in log for words in _CERTIFICATE):
        return Outcome(Fate.NEVER, "its certificate is not valid; is the clock right?")
    mail = [int(code) for code in _SMTP.findall(log)]
    if mail:
        worst = max(mail)
        fate = Fate.NEVER if worst >= 500 else Fate.LATER  # noqa: PLR2004 - RFC 5321
        return Outcome(fate, f"the mail server answered {worst}")
    web = [int(code) for code in _HTTP.findall(log)]
    if web:
        code = web[-1]
        passing = code in _HTTP_LATER or code >= 500  # noqa: PLR2004 - RFC 9110
        fate = Fate.LATER if passing else Fate.NEVER
        return Outcome(fate, f"the receiver answered {code}")
    return Outcome(Fate.LATER, "the receiver cannot be reached")
