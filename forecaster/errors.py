"""Every error a user can meet, and the exit code of each.

::

    ForecasterError                 1   never raised itself
    ├── UsageError                 64   the command line asks for something impossible
    ├── DataError                  65   a weather or paddock file is wrong
    ├── InputMissingError          66   a named file does not exist
    ├── NoWeatherError             69   there is no weather to stand on
    ├── SourceError                69   a weather service gave nothing usable
    │   ├── TemporaryError         75   it may work in a while
    │   ├── LimitedError           75   it asked us to wait until a moment
    │   ├── RefusedError           77   it refused the request: ours to mend
    │   └── UnusableError          76   it answered nonsense
    ├── InternalError              70   a fault of the program, caught
    ├── OutputError                73   a result cannot be written
    ├── StateError                 74   what is kept cannot be read or written
    ├── NewerStateError            78   it was written by a newer program
    ├── SecretsError               77   a secret is missing, or open to others
    ├── BusyError                  75   another check is running
    └── SettingsError              78   a settings file is wrong (all faults at once)

The numbers are those of BSD ``sysexits.h``. A message says what is wrong, where,
the value found, what is allowed and what to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


class ForecasterError(Exception):
    """Base of all errors that are shown to a user as one clear message."""

    exit_code: int = 1


class UsageError(ForecasterError):
    """The command line asks for something that cannot be done."""

    exit_code = 64


class DataError(ForecasterError):
    """A weather table, mapping or paddock file holds something unusable."""

    exit_code = 65


class InputMissingError(ForecasterError):
    """A file or folder named by the user does not exist or cannot be read."""

    exit_code = 66


class NoWeatherError(ForecasterError):
    """There is no weather to judge hours or growth with."""

    exit_code = 69


class SourceError(ForecasterError):
    """A weather service gave nothing usable."""

    exit_code = 69


class TemporaryError(SourceError):
    """The service or the line is down; it may work in a while."""

    exit_code = 75


class LimitedError(SourceError):
    """The service asked us to wait.

    ``not_before`` is UTC seconds since 1970.
    """

    exit_code = 75

    def __init__(self, message: str, not_before: int) -> None:
        self.not_before = not_before
        super().__init__(message)


class RefusedError(SourceError):
    """The service refused the request itself; asking again will not help."""

    exit_code = 77


class UnusableError(SourceError):
    """The service answered, but not with weather that can be used."""

    exit_code = 76


class PartialError(UnusableError):
    """What came is enough for dates, but not for hours; dates may be read alone."""


class InternalError(ForecasterError):
    """A fault of the program itself."""

    exit_code = 70


class OutputError(ForecasterError):
    """A result cannot be written where the user asked for it."""

    exit_code = 73


class StateError(ForecasterError):
    """What is kept between checks cannot be read or written."""

    exit_code = 74


class NewerStateError(ForecasterError):
    """What is kept was written by a newer program, or is not ours."""

    exit_code = 78


class SecretsError(ForecasterError):
    """A secret is missing, or others may read it."""

    exit_code = 77


class BusyError(ForecasterError):
    """Another check holds the state.

    ``since`` is when that one began, UTC ``datetime64[s]``, where it is known.
    """

    exit_code = 75
    since: Any = None


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a settings file.

    ``line`` and ``column`` count from 1; 0 means the fault has no single place.
    """

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        place = f":{self.line}:{self.column}" if self.line else ""
        return f"{self.file}{place}: {self.message}"


class SettingsError(ForecasterError):
    """One or more settings files are wrong; carries every fault found."""

    exit_code = 78

    def __init__(self, faults: list[Fault] | tuple[Fault, ...]) -> None:
        self.faults = tuple(faults)
        count = len(self.faults)
        head = "1 fault" if count == 1 else f"{count} faults"
        super().__init__("\n".join([f"{head} in the settings:", *map(str, faults)]))
