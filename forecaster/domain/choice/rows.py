"""A row of the decision table, as read from ``config/choice.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.growth.weed import Mode
    from forecaster.domain.sourced import Mark, Sourced


class Kind(StrEnum):
    """What a row does when its conditions hold."""

    STOP = "stop"
    """Do not spray this paddock; before every choice."""
    BAR = "bar"
    """Takes an active out."""
    CHOOSE = "choose"
    """Names the active, or what to wait for."""
    ADD = "add"
    """Goes with whatever is chosen."""


class Answer(StrEnum):
    """What to do."""

    SPRAY = "spray"
    WAIT = "wait"
    LEAVE = "do not spray"
    NO_GO = "no go"
    """Windows are shown, and nothing more."""
    ASK = "only if you accept it"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Row:
    """One row; ``id`` is its number with a letter where a row has parts."""

    id: str
    kind: Kind
    conditions: tuple[str, ...]
    answer: Answer
    advice: str
    why: str
    source: str
    page: str
    mark: Mark
    mode: Mode | None = None
    """The mode of active it is about; None with ``each``: any."""
    each: bool = False
    """Whether it is asked of every active by itself."""
    numbers: tuple[str, ...] = ()
    """Published numbers it shows."""
    prefer_other: bool = False
    """Whether another active comes first where there is one."""

    @property
    def about_active(self) -> bool:
        """Whether it is asked of one active."""
        return self.each or self.mode is not None


@dataclass(frozen=True, slots=True)
class Table:
    """The whole table, in its own order."""

    rows: tuple[Row, ...]
    numbers: dict[str, tuple[str, Sourced]]
    """Published numbers by name, with their words."""
