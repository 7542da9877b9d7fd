"""How far looks are trusted: ``config/looks.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, TypeAlias

from pydantic import AfterValidator

from forecaster.domain.growth.look import LookNumbers
from forecaster.settings.document import Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber, bounded

if TYPE_CHECKING:
    from pathlib import Path

Correlation: TypeAlias = Annotated[
    SourcedNumber, AfterValidator(bounded("correlation", 0, 0.99))
]


class LooksFile(Strict):
    """The whole file."""

    floor: Annotated[SourcedNumber, AfterValidator(bounded("degC d", 0, 200))]
    spread_sd: Annotated[SourcedNumber, AfterValidator(bounded("log", 0, 2))]
    same_paddock: Correlation
    same_weed: Correlation
    uneven: Annotated[SourcedNumber, AfterValidator(bounded("factor", 1, 5))]
    enough: Annotated[SourcedNumber, AfterValidator(bounded("heads", 1, 1000))]


def read_look_numbers(path: Path) -> LookNumbers:
    """Read ``config/looks.toml``.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of the file.
    """
    file = validate(read_document(path), LooksFile)
    return LookNumbers(
        **{name: getattr(file, name).sourced() for name in LooksFile.model_fields}
    )
