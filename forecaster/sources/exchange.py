"""One GET over one connection, and what became of it; nothing is raised.

Errors of the network layer hold addresses, and addresses hold keys. So none leaves
this file: each becomes words of our own.
"""

from __future__ import annotations

import http.client
import socket
import ssl
import zlib
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING
from urllib.parse import urljoin, urlsplit

from requests.utils import DEFAULT_CA_BUNDLE_PATH

from forecaster.errors import RefusedError, SourceError, TemporaryError, UnusableError
from forecaster.sources.body import CUT_OFF, read_body
from forecaster.sources.canonical_url import authority
from forecaster.sources.line import Line, in_time

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.sources.conduct import Conduct
    from forecaster.sources.deadline import Deadline

REFUSALS = 400
"""The first status code of an error."""
REASON_SIZE = 65_536
"""Bytes of an error's text that are read."""
REDIRECTS = frozenset({301, 302, 303, 307, 308})
MOST_REDIRECTS = 3


@dataclass(frozen=True, slots=True)
class Answer:
    """A complete answer; header names in lower case, the body unpacked."""

    status: int
    headers: Mapping[str, str]
    body: bytes


@dataclass(frozen=True, slots=True)
class Fault:
    """No answer, and why; ``again``: trying once more at once may help."""

    error: SourceError
    again: bool = False


def exchange(
    url: str, headers: Mapping[str, str], conduct: Conduct, deadline: Deadline
) -> Answer | Fault:
    """Ask, and follow redirects that stay with the same scheme, host and port."""
    for _ in range(MOST_REDIRECTS + 1):
        work = partial(_get, url, headers, conduct, deadline)
        got = in_time(work, deadline) or Fault(_late())
        if isinstance(got, Fault) or got.status not in REDIRECTS:
            return got
        target = _target(url, got.headers.get("location", ""))
        if isinstance(target, Fault):
            return target
        url = target
    return Fault(UnusableError("the service redirects in a circle"))


def _get(
    url: str,
    headers: Mapping[str, str],
    conduct: Conduct,
    deadline: Deadline,
    line: Line,
) -> Answer | Fault:
    try:
        connection, opened = _connect(url, conduct, deadline, line)
        with opened:
            # The response reads on from the socket after the connection is closed.
            parts = urlsplit(url)
            target = f"{parts.path or '/'}" + (f"?{parts.query}" if parts.query else "")
            connection.request("GET", target, headers=dict(headers))
            with connection.getresponse() as response:
                return _answer(response, opened, conduct, deadline)
    except Exception as error:  # noqa: BLE001  # its text and kind may hold a key
        return _fault(error)


def _connect(
    url: str, conduct: Conduct, deadline: Deadline, line: Line
) -> tuple[http.client.HTTPConnection, socket.socket]:
    parts = urlsplit(url)
    host, secure = parts.hostname or "", parts.scheme == "https"
    kind = http.client.HTTPSConnection if secure else http.client.HTTPConnection
    connection = kind(host, parts.port)
    plain = socket.create_connection(
        (host, connection.port), min(conduct.connect_s, max(deadline.left(), 0.001))
    )
    try:
        line.hold(plain)
        plain.settimeout(conduct.read_s)
        connection.sock = (
            _trust(conduct).wrap_socket(plain, server_hostname=host)
            if secure
            else plain
        )
    except BaseException:
        plain.close()
        raise
    return connection, connection.sock


def _trust(conduct: Conduct) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=conduct.ca_file or DEFAULT_CA_BUNDLE_PATH)


def _answer(
    response: http.client.HTTPResponse,
    opened: socket.socket,
    conduct: Conduct,
    deadline: Deadline,
) -> Answer:
    headers = {name.lower(): value for name, value in response.headers.items()}
    read = partial(read_body, response, opened, read_s=conduct.read_s)
    if response.status < REFUSALS:
        unread = Answer(response.status, headers, b"")
        if (
            response.status in REDIRECTS
            or response.status == http.HTTPStatus.NOT_MODIFIED
        ):
            return unread
        return replace(
            unread,
            body=read(
                largest_wire=conduct.largest_wire,
                largest_body=conduct.largest_body,
                deadline=deadline,
            ),
        )
    try:
        # A refusal stands, whatever becomes of its text.
        reason = read(
            largest_wire=REASON_SIZE,
            largest_body=REASON_SIZE,
            deadline=deadline.within(conduct.reason_s),
        )
    except (SourceError, http.client.HTTPException, OSError, zlib.error):
        reason = b""
    return Answer(response.status, headers, reason)


def _target(url: str, location: str) -> str | Fault:
    try:
        target = urljoin(url, location.strip())
        host = authority(target)
        same = (urlsplit(target).scheme, host) == (urlsplit(url).scheme, authority(url))
    except ValueError:
        location = ""
    if not location:
        return Fault(UnusableError("the service redirects to nowhere"))
    if not same:
        return Fault(
            RefusedError(
                "the service redirects to another address "
                f"({urlsplit(target).scheme}://{host}), which is not followed; "
                "if it has moved, change its address in the settings"
            )
        )
    return target


def _late() -> TemporaryError:
    return TemporaryError("no whole answer came in time")


def _fault(error: Exception) -> Fault:
    """The first row that fits; a kind stands before the kinds it is a kind of."""
    if isinstance(error, SourceError):
        return Fault(error)
    for kind, fault in _KINDS:
        if isinstance(error, kind):
            return replace(fault, error=type(fault.error)(_told(error, fault)))
    return Fault(
        UnusableError(f"the answer could not be read ({type(error).__name__})")
    )


def _told(error: Exception, fault: Fault) -> str:
    """Our words, and those of the operating system or the TLS library if any."""
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"{fault.error} ({error.verify_message})"
    if (
        isinstance(error, OSError)
        and error.strerror
        and type(error) is not ssl.SSLError
    ):
        return f"{fault.error} ({error.strerror})"
    return str(fault.error)


_KINDS: tuple[tuple[type[Exception], Fault], ...] = (
    (TimeoutError, Fault(_late())),
    (
        ssl.SSLCertVerificationError,
        Fault(TemporaryError("its certificate is not accepted, so nothing was sent")),
    ),
    (
        ssl.SSLError,
        Fault(TemporaryError("no secure connection could be made"), again=True),
    ),
    (
        socket.gaierror,
        Fault(TemporaryError("its name could not be looked up"), again=True),
    ),
    (
        http.client.RemoteDisconnected,
        Fault(TemporaryError("it hung up without an answer"), again=True),
    ),
    (OSError, Fault(TemporaryError("the connection failed"), again=True)),
    (http.client.IncompleteRead, Fault(UnusableError(CUT_OFF))),
    (http.client.HTTPException, Fault(UnusableError("the answer is not HTTP"))),
    (zlib.error, Fault(UnusableError("the answer is badly packed"))),
    (
        ValueError,
        Fault(RefusedError("a key or header holds characters that cannot be sent")),
    ),
)
