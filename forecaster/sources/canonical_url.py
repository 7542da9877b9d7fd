"""One spelling for every request, so that one answer has one name."""

from __future__ import annotations

import ipaddress
import math
from collections.abc import Iterable, Mapping
from typing import Any, TypeAlias
from urllib.parse import parse_qsl, quote, unquote, urlsplit

import numpy as np

from forecaster.errors import RefusedError

Value: TypeAlias = "str | float | np.number[Any] | None"
Parameters: TypeAlias = "Mapping[str, Value | Iterable[Value]]"

COORDINATES = frozenset({"latitude", "longitude", "lat", "lon"})
"""Parameters written with four decimals, about 11 m; one service refuses more."""

_PORTS = {"http": 80, "https": 443}


def canonical_url(base: str, parameters: Parameters) -> str:
    """``base`` with ``parameters``, sorted by name; two spellings give one URL.

    Coordinates have four decimals, other numbers no needless zeros, truth values are
    ``true`` and ``false``, None is left out. A list is joined by commas as it stands:
    sort it where its order means nothing. Parameters in ``base`` join the others.

    Raises
    ------
    ValueError
        If the base is no http(s) address without user and fragment, a name stands
        twice, or a number is not finite.
    """
    parts = urlsplit(base.strip())
    if parts.scheme not in _PORTS or not parts.hostname or parts.fragment:
        raise ValueError("a base address looks like https://host/path")
    if "@" in parts.netloc:
        raise ValueError("a base address holds no user name or password")
    pairs = parse_qsl(parts.query, keep_blank_values=True)
    pairs += [
        (name, _written(name, value))
        for name, value in parameters.items()
        if value is not None
    ]
    names = [name for name, _ in pairs]
    if len(set(names)) != len(names):
        raise ValueError("a parameter stands twice")
    query = "&".join(
        f"{quote(name, safe='')}={quote(value, safe=',:')}"
        for name, value in sorted(pairs)
    )
    path = quote(unquote(parts.path), safe="/:@!$&'()*+,;=~") or "/"
    return f"{parts.scheme}://{authority(base)}{path}" + (f"?{query}" if query else "")


def authority(url: str) -> str:
    """Host in lower case, and the port unless it is the usual one of the scheme."""
    parts = urlsplit(url.strip())
    host = (parts.hostname or "").rstrip(".")
    host = f"[{host}]" if ":" in host else host
    usual = parts.port in {None, _PORTS.get(parts.scheme)}
    return host if usual else f"{host}:{parts.port}"


def is_loopback(host: str) -> bool:
    """Whether the name or address can only mean this machine (RFC 6761 §6.3)."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower().rstrip(".") == "localhost"


def check_address(url: str) -> None:
    """Let only addresses through to which a key may be sent.

    Raises
    ------
    RefusedError
        If it is not https (http only to this machine), or holds a user or password.
    """
    try:
        parts = urlsplit(url)
        host, _ = parts.hostname or "", parts.port
    except ValueError:
        host = ""
    if not host or "@" in parts.netloc:
        raise RefusedError(
            "the address of the weather service is not one; "
            "it looks like https://host/path and holds no user or password"
        ) from None
    if parts.scheme != "https" and not (parts.scheme == "http" and is_loopback(host)):
        raise RefusedError(
            f"the address of the weather service at {host} must begin with https://"
        )


def _written(name: str, value: Value | Iterable[Value]) -> str:
    if isinstance(value, Iterable) and not isinstance(value, str):
        return ",".join(_one(name, each) for each in value)
    return _one(name, value)


def _one(name: str, value: object) -> str:
    if name in COORDINATES:
        return f"{_finite(value) + 0.0:.4f}".replace("-0.0000", "0.0000")
    if isinstance(value, (bool, np.bool_)):
        return str(value).lower()
    if isinstance(value, (int, np.integer)):
        return str(int(value))
    if isinstance(value, (float, np.floating)):
        return f"{_finite(value) + 0.0:.10g}"
    return str(value)


def _finite(value: object) -> float:
    number = float(str(value))
    if not math.isfinite(number):
        raise ValueError("a number in an address must be finite")
    return number
