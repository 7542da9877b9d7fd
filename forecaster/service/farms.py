"""Every farm of a folder, each on its own: one that fails never hides the others."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.farms import FarmFault, farms_outlook
from forecaster.errors import ForecasterError, InputMissingError
from forecaster.service.daily import outlook
from forecaster.service.wiring import farm_day
from forecaster.settings.farm import FARM_FILE

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.farms import FarmsOutlook
    from forecaster.domain.outlook import Outlook


def all_farms(
    folder: Path, at: str | None = None, *, offline: bool = False
) -> FarmsOutlook:
    """The outlook of every farm in the folders right under ``folder``.

    Raises
    ------
    InputMissingError
        If there is no such folder, or none under it holds a farm file.
    """
    outlooks: list[Outlook] = []
    faults: list[FarmFault] = []
    for each in farm_folders(folder):
        try:
            day, demo = farm_day(each, at, None, offline=offline)
            outlooks.append(outlook(day, demo=demo))
        except ForecasterError as error:
            faults.append(FarmFault(each.name, one_line(str(error))))
        except Exception as error:  # noqa: BLE001 - one farm must never hide the others
            said = f"a fault of the program: {type(error).__name__}: {error}"
            faults.append(FarmFault(each.name, one_line(said)))
    return farms_outlook(tuple(outlooks), tuple(faults))


def farm_folders(folder: Path) -> list[Path]:
    """Folders of farms right under ``folder``, by name; not what is hidden.

    Raises
    ------
    InputMissingError
        If there is no such folder, or none under it holds a farm file.
    """
    try:
        under = sorted(each for each in folder.iterdir() if each.name[0] != ".")
    except OSError as error:
        raise InputMissingError(
            f"{folder}: cannot be read ({error.strerror}); name the folder that holds "
            "the farms' folders"
        ) from None
    found = [each for each in under if (each / FARM_FILE).exists()]
    if not found:
        raise InputMissingError(
            f"{folder}: no folder in it holds a {FARM_FILE}; name the folder that "
            "holds the farms' folders"
        )
    return found


def one_line(text: str) -> str:
    """The lines of an error, told in one."""
    return "; ".join(text.splitlines()).replace(":; ", ": ")
