"""The words of ``forecaster result`` read into numbers, each fault one clear error."""

from __future__ import annotations

import re
from dataclasses import dataclass

from forecaster.domain.result.result_log import (
    FIRST_YEAR,
    LARGEST_CM,
    MOST_PLANTS,
    MOST_SQUARES,
    SMALLEST_CM,
)
from forecaster.domain.sourced import Mark, Sourced
from forecaster.errors import UsageError
from forecaster.settings.names import plain
from forecaster.settings.stage_words import class_name, class_of

SIDE_CM = 25.0
"""[cm] Side of the square where none is typed."""
_COUNT = re.compile(r"[0-9]{1,7}", re.ASCII)
_SHARE = re.compile(
    r"([0-9]{1,3}(?:\.[0-9]+)?)(?:-([0-9]{1,3}(?:\.[0-9]+)?))?", re.ASCII
)


@dataclass(frozen=True, slots=True)
class AskedResult:
    """What was typed; None: left out."""

    treated: str
    untreated: str
    side_cm: float
    year: int | None = None
    weed: str | None = None
    active: str | None = None
    stage: str | None = None
    control: str | None = None
    uneven: bool | None = None
    rain: bool | None = None


def counts_of(text: str, what: str) -> tuple[int, ...]:
    """``3,0,2`` as numbers.

    Raises
    ------
    UsageError
        With the first place that holds no count.
    """
    parts = [each.strip() for each in text.split(",")]
    if len(parts) > MOST_SQUARES:
        raise UsageError(
            f"{what} has {len(parts)} squares; allowed is up to {MOST_SQUARES}"
        )
    for place, part in enumerate(parts, 1):
        if not _COUNT.fullmatch(part) or int(part) > MOST_PLANTS:
            raise UsageError(
                f"{what}: square {place} is {plain(part)}; allowed is a whole number "
                f"from 0 to {MOST_PLANTS}, squares parted by commas, such as 3,0,2"
            )
    return tuple(map(int, parts))


def side_of(side_cm: float) -> float:
    """The side of a square.

    Raises
    ------
    UsageError
        If no square has such a side.
    """
    if not SMALLEST_CM <= side_cm <= LARGEST_CM:
        raise UsageError(
            f"--side {side_cm:g}: allowed is {SMALLEST_CM:g} to {LARGEST_CM:g} cm"
        )
    return side_cm


def year_of(typed: int | None, this_year: int) -> int:
    """The year of the spray; last year's where none is typed.

    Raises
    ------
    UsageError
        If it lies ahead or too far back.
    """
    if typed is None:
        return this_year - 1
    if not FIRST_YEAR <= typed <= this_year:
        raise UsageError(
            f"--year {typed}: allowed is {FIRST_YEAR} to {this_year}, the year of the "
            "spray"
        )
    return typed


def stage_of(text: str | None) -> str | None:
    """The class of heads a stage stands for, by the name files give it.

    Raises
    ------
    UsageError
        If it is no stage.
    """
    if text is None:
        return None
    try:
        return class_name(class_of(text))
    except ValueError as error:
        raise UsageError(f"--stage: {error}") from None


def control_of(text: str | None) -> Sourced | None:
    """``90`` or ``80-95``: per cent of the seed the spray should have prevented.

    Raises
    ------
    UsageError
        If it is neither.
    """
    if text is None:
        return None
    match = _SHARE.fullmatch(text.strip().removesuffix("%").strip())
    low, high = (float(match[1]), float(match[2] or match[1])) if match else (1.0, 0.0)
    if not low <= high <= 100:  # noqa: PLR2004 - per cent
        raise UsageError(
            f"--control {plain(text)}: allowed is per cent from 0 to 100, such as 90 "
            "or 80-95"
        )
    return Sourced(
        (low + high) / 200.0,
        "share",
        low / 100.0,
        high / 100.0,
        "typed with --control",
        "the middle is half way",
        Mark.USER,
    )
