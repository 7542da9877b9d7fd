"""The questions ``forecaster look PADDOCK`` asks on a terminal."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import typer

from forecaster.cli.look_modes import confirmed
from forecaster.errors import UsageError
from forecaster.service.look_count import (
    checked_author,
    count_of,
    user_name,
    weed_called,
)
from forecaster.service.look_dates import counted_at
from forecaster.service.look_words import looked
from forecaster.service.wiring import paddock_called
from forecaster.settings.stage_words import CLASSES, spoken

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from forecaster.domain.growth.look import LookClass
    from forecaster.domain.growth.weed import Weed
    from forecaster.service.look_count import Prepared, TypedCounts
    from forecaster.service.look_dates import Present
    from forecaster.service.look_words import Asked
    from forecaster.settings.farm import Farm, Paddock

T = TypeVar("T")


def looks_asked_for(asked: Asked, farm: Farm, present: Present) -> Iterator[Prepared]:
    """Each look the person counted and said yes to.

    Raises
    ------
    UsageError
        If the command line names a paddock, weed or date that is none.
    """
    paddock = paddock_called(farm, str(asked.paddock))
    asked = _who_and_when(asked, farm, present)
    left = list(paddock.weeds)
    while True:
        weed = _weed(asked, farm, paddock, left)
        typed = _counts(weed)
        look = looked(farm, paddock, (weed, typed), asked, present)
        if confirmed(look, farm):
            yield look
        else:
            typer.echo("Nothing was recorded.")
        left = [each for each in left if each != weed.id]
        if not left or not typer.confirm("Another weed here?", default=False):
            return
        asked = replace(asked, weed=None)


def _who_and_when(asked: Asked, farm: Farm, present: Present) -> Asked:
    """What the command line left out, asked once for all weeds."""
    on, by = asked.on, asked.by
    if on is None:
        on = _until_right(
            "Counted on (Enter: now; else like 2026-10-11)",
            lambda text: _date(text, farm, present),
        )
    else:
        counted_at(on, farm, present, "--on")
    if by is None:
        by = _until_right(
            "Counted by", lambda text: checked_author(text, "name"), default=user_name()
        )
    return replace(asked, on=on, by=by)


def _date(text: str, farm: Farm, present: Present) -> str | None:
    if not text.strip():
        return None
    counted_at(text, farm, present, "date")
    return text


def _weed(asked: Asked, farm: Farm, paddock: Paddock, left: list[str]) -> Weed:
    if asked.weed is not None:
        return weed_called(farm, paddock, asked.weed)
    usual = paddock.target if paddock.target in left else left[0]
    if len(left) == 1:
        return farm.weeds[usual]
    return _until_right(
        f"Weed ({', '.join(left)})",
        lambda text: weed_called(farm, paddock, text),
        default=usual,
    )


def _counts(weed: Weed) -> TypedCounts:
    """Heads of each class in the weed's own words."""
    typer.echo(
        f"{weed.name}: how many heads are at each stage, and not yet at the next? "
        "Enter alone: you did not tell it apart. 0: you looked and found none."
    )
    while True:
        typed: list[tuple[str, int]] = []
        for name, stage in _told_apart(weed).items():
            seen = "" if stage is None else f": {weed.stage_words[stage]}"
            count = _until_right(
                f"  {spoken(name)}{seen}",
                lambda text, word=spoken(name): _count(word, text),  # type: ignore[misc]
            )
            typed += [count] if count is not None else []
        if sum(count for _, count in typed):
            return tuple(typed)
        typer.echo("No head was counted; once more.")


def _told_apart(weed: Weed) -> dict[str, LookClass]:
    """The classes a person can tell apart; silver grass never shows its flowers."""
    places: dict[float, str] = {}
    for name, stage in CLASSES.items():
        if stage is not None:
            places.setdefault(weed.offset(stage), name)
    kept = set(places.values())
    return {
        name: stage for name, stage in CLASSES.items() if stage is None or name in kept
    }


def _count(word: str, text: str) -> tuple[str, int] | None:
    return count_of(word, text) if text.strip() else None


def _until_right(
    question: str, read: Callable[[str], T], default: str | None = None
) -> T:
    """Ask until the answer can be read."""
    while True:
        answer = typer.prompt(
            question, default=default or "", show_default=bool(default)
        )
        try:
            return read(str(answer))
        except UsageError as error:
            typer.echo(str(error))
