"""Where messages may go: https, to addresses of the public net, or hosts named so.

A name that leads into the machine or the farm's own network would let an address in a
file reach what it should not.
"""

from __future__ import annotations

import ipaddress
import socket
from urllib.parse import urlsplit


def fault_of(address: str, private_hosts: tuple[str, ...]) -> str:
    """Why an http(s) address must not be used, without saying it; or nothing."""
    try:
        parts = urlsplit(address)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        return "the address is not one"
    private = host.lower() in {each.lower() for each in private_hosts}
    if parts.scheme not in {"https", "http"}:
        return "the address must begin with https://"
    if parts.scheme == "http" and not private:
        return (
            "the address must begin with https://; http only for a host listed in "
            "alerts.private_hosts"
        )
    if parts.scheme == "https" and "@" in parts.netloc:
        return "a name and password must not stand in the address"
    return host_fault(host, port or 443, private=private)


def host_fault(host: str, port: int, *, private: bool) -> str:
    """Why a host must not be reached: where any of its addresses leads."""
    if not host:
        return "the address names no host"
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return "its host is not known (no network, or a wrong name)"
    for *_, where in found:
        ip = ipaddress.ip_address(str(where[0]).partition("%")[0])
        if isinstance(ip, ipaddress.IPv6Address) and ip.ipv4_mapped is not None:
            ip = ip.ipv4_mapped
        if ip.is_link_local or ip.is_multicast or ip.is_unspecified:
            return "its host leads to an address that is never allowed"
        if not ip.is_global and not private:
            return (
                "its host leads into a private network; list it in "
                "alerts.private_hosts if that is meant"
            )
    return ""
