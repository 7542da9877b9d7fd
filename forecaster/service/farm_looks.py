"""The looks of a farm, for those who learn from them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from forecaster.errors import InputMissingError
from forecaster.settings.names import same_name
from forecaster.store.looks import LOOKS_FILE, read_looks

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from forecaster.domain.growth.look import Look
    from forecaster.settings.farm import Farm


def log_path(farm: Farm) -> Path:
    """Where the farm's looks are kept."""
    return farm.folder / LOOKS_FILE


def load_looks(farm: Farm) -> tuple[tuple[Look, ...], tuple[str, ...]]:
    """The looks that stand, in the order they were counted, and what to say of them.

    A look of a paddock or weed the farm no longer has stays in the log and is told
    in the warnings; so is what cannot be read. Nothing is raised: the outlook goes
    on without.
    """
    try:
        log = read_looks(log_path(farm))
    except InputMissingError as error:
        return (), (f"{error}; no look is used",)
    names = {same_name(each.name): each for each in farm.paddocks}
    found: list[Look] = []
    left: list[str] = []
    for entry in log.standing:
        paddock = names.get(same_name(entry.look.paddock))
        if paddock is None or entry.look.weed not in paddock.weeds:
            left.append(entry.look.id)
        else:
            found.append(replace(entry.look, paddock=paddock.name))
    found.sort(key=lambda look: look.moment)
    return tuple(found), (*log.warnings, *_left_out(left))


def _left_out(ids: list[str]) -> Iterator[str]:
    if ids:
        yield (
            f"{len(ids)} look{'s' if len(ids) > 1 else ''} of a paddock or weed that "
            f"farm.toml no longer has, kept but not used: {', '.join(ids[:5])}"
            f"{' …' if len(ids) > 5 else ''}"  # noqa: PLR2004 - a line's worth
        )
