"""What the inside asks of the outside; whoever gives it may stand in.

A port lists its requirements in its docstring. Nothing here does anything.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

    from forecaster.domain.alerts.letter import Letter, Outcome
    from forecaster.domain.weather import Floats


class PastYears(Protocol):
    """Past years that can stand in for days not known yet.

    Requirements: the years are whole or mostly so, the season asked for is not among
    them, a day that is not known is NaN, and the same question has the same answer.
    """

    def daily(
        self, first: np.datetime64, days: int, base: float, ceiling: float
    ) -> Floats:
        """Thermal time [°C d] (years, days) of the same dates in each past year."""
        ...


class WeatherProduct(Protocol):
    """One product of one weather service; a module of ``sources`` is one.

    Requirements: ``request`` touches no network and puts no secret in the URL;
    ``parse`` is pure, turns the service's convention into that of the weather table,
    and answers what it cannot use with a SourceError and nothing else.
    """

    @property
    def request(self) -> Callable[..., Any]:
        """Place, moment and options in; a Request out."""
        ...

    @property
    def parse(self) -> Callable[[bytes, Any], Any]:
        """Body and Request in; a Parsed out."""
        ...


class Notifier(Protocol):
    """One channel to one person.

    Requirements: ``send`` returns only once the receiver has accepted, gives up
    within the deadline, sends nothing twice by itself, and says in ``Outcome`` what
    to make of a failure; no secret stands in what it says or raises. ``probe`` looks
    whether it could send, and sends nothing.
    """

    @property
    def name(self) -> str:
        """The name of the channel in the farm file."""
        ...

    def send(self, letter: Letter, deadline_s: float) -> Outcome:
        """Hand one message over."""
        ...

    def probe(self, deadline_s: float) -> Outcome:
        """Connect as far as can be done without a message."""
        ...
