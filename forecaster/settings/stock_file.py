"""What may be typed of stock: how a paddock was grazed, and where mobs go."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from forecaster.settings.document import Date, Number, Strict, within
from forecaster.settings.names import name_fault

MOST_DSE = 500_000


def _named(name: str) -> str:
    fault = name_fault(name)
    if fault:
        raise ValueError(fault)
    return name


Name = Annotated[str, AfterValidator(_named)]


class GrazedEntry(Strict):
    """``[[paddock.grazed]]``; without ``until`` stock are still on."""

    how: Literal["hard", "patchy", "lax"]
    start: Date = Field(alias="from")
    until: Date | None = None
    dse: Annotated[Number, within(0, MOST_DSE, above=True)] | None = None


class StayEntry(Strict):
    """``[[mob.stay]]``, past or planned."""

    paddock: str
    start: Date = Field(alias="from")
    until: Date


class MobEntry(Strict):
    """``[[mob]]``."""

    name: Name
    dse: Annotated[Number, within(0, MOST_DSE, above=True)]
    stay: list[StayEntry] = Field(default_factory=list)
