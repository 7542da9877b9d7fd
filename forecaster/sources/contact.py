"""Whom a weather service can reach about the requests it gets."""

from __future__ import annotations

import re

from forecaster import __version__
from forecaster.errors import RefusedError

_MAIL = re.compile(r"[\w.+-]+@[\w-]+(\.[\w-]+)+", re.ASCII)
_SITE = re.compile(r"(https?://)?[\w-]+(\.[\w-]+)+(/[\w./~-]*)?", re.ASCII)
_PLACEHOLDER = re.compile(r"example|changeme|yourname|your-|\.(test|invalid|local)\b")


def user_agent(contact: str, service: str) -> dict[str, str]:
    """The header that names this program and its user's mail address or site.

    Raises
    ------
    RefusedError
        If the contact is missing, a placeholder, or neither address nor site.
    """
    if not (_MAIL.fullmatch(contact) or _SITE.fullmatch(contact)):
        raise RefusedError(_needed(contact, service, "an e-mail address or a web site"))
    _refuse_placeholder(contact, service)
    return {"User-Agent": f"forecaster/{__version__} {contact}"}


def is_mail(contact: str) -> bool:
    """Whether it is an e-mail address, and no placeholder."""
    return bool(_MAIL.fullmatch(contact)) and not _PLACEHOLDER.search(contact.lower())


def mail(contact: str, service: str) -> str:
    """The e-mail address.

    Raises
    ------
    RefusedError
        If it is missing, a placeholder, or no address.
    """
    if not _MAIL.fullmatch(contact):
        raise RefusedError(_needed(contact, service, "an e-mail address"))
    _refuse_placeholder(contact, service)
    return contact


def _refuse_placeholder(contact: str, service: str) -> None:
    if _PLACEHOLDER.search(contact.lower()):
        raise RefusedError(_needed(contact, service, "your own address"))


def _needed(contact: str, service: str, what: str) -> str:
    return (
        f"{service} wants to know whom to ask about the requests: contact is "
        f"{contact[:60]!r}, it must be {what}"
    )
