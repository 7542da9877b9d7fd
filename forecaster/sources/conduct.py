"""How the program behaves towards a weather service: one place for every limit."""

from __future__ import annotations

import string
from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster import __version__

if TYPE_CHECKING:
    from pathlib import Path

MIB = 1024 * 1024
_CONTACT = frozenset(string.ascii_letters + string.digits + " @.:/_-~+%")


@dataclass(frozen=True, slots=True)
class Conduct:
    """Times in seconds, sizes in bytes. Common practice, no source, unless said."""

    connect_s: float = 5.0
    """To reach one address of a host."""
    read_s: float = 20.0
    """To wait for the next byte."""
    try_s: float = 30.0
    """For one whole request: name, connection, head and body."""
    reason_s: float = 2.0
    """For the text that comes with a refusal."""
    retries: int = 2
    """Tries after the first one."""
    backoff_s: float = 0.5
    """Before the second try; doubled for the third; half to one and a half of it."""
    longest_wait_s: float = 15.0
    """The longest wait a service may ask for that is waited for at once."""
    largest_wire: int = 5 * MIB
    """Of a compressed body as it is sent."""
    largest_body: int = 20 * MIB
    """Of a body when unpacked."""
    contact: str = ""
    """A site or mail address at which the one who asks can be reached."""
    ca_file: Path | None = None
    """Certificates to trust instead of the usual ones; it never turns checking off."""

    @property
    def user_agent(self) -> str:
        """Who asks, as some services require it; only characters safe in a header."""
        contact = "".join(each for each in self.contact if each in _CONTACT).strip()
        return f"forecaster/{__version__}" + (f" (+{contact})" if contact else "")


CONDUCT = Conduct()
"""What is used unless something else is asked for."""
