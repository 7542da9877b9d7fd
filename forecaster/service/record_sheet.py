"""A sheet of records, ``[[record]]`` tables of a TOML file."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from forecaster.errors import Fault, SettingsError, UsageError
from forecaster.service.record_words import Asked, checked_name, job_asked
from forecaster.settings.document import read_document

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.record.job import Job
    from forecaster.service.look_dates import Present
    from forecaster.settings.document import Document
    from forecaster.settings.farm import Farm
    from forecaster.settings.toml_positions import Path as Place

LISTS = ("wind_changes", "tanks")
NEEDED = ("paddock", "active", "start", "finish")
MOST = 1000
"""Records of one sheet."""


def jobs_of_sheet(path: Path, farm: Farm, present: Present) -> list[Job]:
    """Every record of a sheet, or every fault of it.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault, each at its place.
    """
    document = read_document(path)
    tables = document.data.get("record")
    strange = [key for key in document.data if key != "record"]
    if strange or not isinstance(tables, list) or not 0 < len(tables) <= MOST:
        where: Place = (strange[0],) if strange else ()
        said = "a sheet holds [[record]] tables and nothing else, 1 to 1,000 of them"
        raise SettingsError([document.fault(where, said)])
    jobs: list[Job] = []
    faults: list[Fault] = []
    for number, table in enumerate(tables):
        here: Place = ("record", number)
        try:
            jobs.append(job_asked(_asked(document, table, here), farm, present))
        except UsageError as error:
            faults.append(document.fault(here, str(error)))
        except SettingsError as error:
            faults += error.faults
    if faults:
        raise SettingsError(faults)
    return jobs


def _asked(document: Document, table: Any, here: Place) -> Asked:
    if not isinstance(table, dict):
        raise SettingsError([document.fault(here, "is no [[record]] table")])
    fields: dict[str, str] = {}
    lists: dict[str, tuple[str, ...]] = {}
    for key, value in table.items():
        try:
            if key in LISTS:
                lists[key] = _texts(value, key)
            else:
                fields[checked_name(key)] = _text(value, key)
        except UsageError as error:
            raise SettingsError([document.fault((*here, key), str(error))]) from None
    lacking = [name for name in NEEDED if not fields.get(name)]
    if lacking:
        said = f"{', '.join(lacking)} {'is' if len(lacking) == 1 else 'are'} missing"
        raise SettingsError([document.fault(here, said)])
    return Asked(fields, lists.get("wind_changes", ()), lists.get("tanks", ()))


def _texts(value: Any, key: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise UsageError(f'{key}: allowed is a list of words, such as ["14:30 SW 16"]')
    return tuple(value)


def _text(value: Any, key: str) -> str:
    """A TOML value as it would stand on a command line."""
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, dt.date):  # a datetime is one, too
        return value.isoformat()
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise UsageError(f"{key}: allowed is a number, a moment or words in quotes")
    return str(value).strip()
