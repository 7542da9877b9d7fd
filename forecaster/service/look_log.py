"""The farm's looks: recorded, listed and taken back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.withdrawal import Withdrawal
from forecaster.errors import UsageError
from forecaster.service.farm_looks import log_path
from forecaster.service.look_count import checked_author, checked_text, user_name
from forecaster.service.own_log import own_farm
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import same_name
from forecaster.store.looks import add_looks, read_looks, withdraw_look

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from forecaster.domain.growth.look_log import LookEntry, LookLog
    from forecaster.service.look_count import Prepared
    from forecaster.settings.farm import Farm


@dataclass(frozen=True, slots=True)
class Recorded:
    """What came of looks handed in."""

    new: tuple[Prepared, ...]
    known: tuple[LookEntry, ...]
    """Those that are in the log already, as it holds them."""
    warnings: tuple[str, ...]


def listed(farm: Farm, paddock: str | None = None) -> LookLog:
    """The whole log, or the looks of one paddock, oldest count first.

    Raises
    ------
    UsageError
        If neither the farm nor the log has such a paddock.
    InputMissingError
        If the log is there and cannot be read.
    """
    log = read_looks(log_path(farm))
    found = log.entries
    if paddock is not None:
        wanted = same_name(paddock)
        found = tuple(e for e in found if same_name(e.look.paddock) == wanted)
        if not found:
            paddock_called(farm, paddock)
    return replace(log, entries=tuple(sorted(found, key=lambda e: e.look.moment)))


def record(farm: Farm, looks: Sequence[Prepared]) -> Recorded:
    """Write looks down, all or none; those the log holds already are left alone.

    Raises
    ------
    UsageError
        If the farm is the demo.
    OutputError, InputMissingError
        If the log cannot be written or read; it is then as it was.
    """
    added = add_looks(log_path(own_farm(farm, "looks")), [each.entry for each in looks])
    fresh = {each.look.id for each in added.new}
    by_id = {each.entry.look.id: each for each in looks}
    new = tuple(each for id_, each in by_id.items() if id_ in fresh)
    return Recorded(new, added.known, added.warnings)


def withdraw(
    farm: Farm, look: str, *, because: str | None, by: str | None, now: np.datetime64
) -> LookEntry:
    """Take a look back; it stays in the log, with the reason.

    Raises
    ------
    UsageError
        If the reason or author is missing, the farm is the demo, or the log holds
        no such look that stands.
    OutputError, InputMissingError
        If the log cannot be written or read; it is then as it was.
    """
    path = log_path(own_farm(farm, "looks"))
    reason = reason_of(because, "counted the wrong grass")
    return withdraw_look(path, Withdrawal(look.strip(), author(by), reason, now))


def author(by: str | None) -> str:
    """Who did it: as typed, else as the system calls them.

    Raises
    ------
    UsageError
        If neither is known.
    """
    if by is not None:
        return checked_author(by)
    name = user_name()
    if name is None:
        raise UsageError('who did it is not known; add --by "your name"')
    return name


def reason_of(because: str | None, such_as: str) -> str:
    """Why something is taken back.

    Raises
    ------
    UsageError
        If it is missing or no text; ``such_as`` is shown.
    """
    reason = checked_text(because or "", "--because")
    if not reason:
        raise UsageError(f'--withdraw needs a reason: add --because "{such_as}"')
    return reason
