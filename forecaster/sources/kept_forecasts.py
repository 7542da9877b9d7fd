"""Forecasts as they were issued, kept to be judged once it is known what came.

A folder for each source and product, in it one file for each answer, named by the
moment it came (UTC): ``openmeteo-forecast/20261011T200000Z.gz``. A file is packed with
gzip; inside are head, checksum and body as in the last-good store. It is written whole
or not at all, and never again.
"""

from __future__ import annotations

import gzip
import re
import zlib
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from forecaster.errors import InputMissingError, OutputError, UnusableError
from forecaster.sources import (
    metno,
    openmeteo,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_profile,
    openmeteo_status,
)
from forecaster.sources.atomic_file import write_new
from forecaster.sources.lastgood import LARGEST, head_of, moment_of
from forecaster.sources.request import Request
from forecaster.sources.sealed import seal, unseal
from forecaster.sources.service_values import near

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    import numpy as np

    from forecaster.domain.place import Place
    from forecaster.sources.request import Parsed

KIND = "forecast"
SCHEMA = 1
PARSERS: Final[Mapping[tuple[str, str], Callable[[bytes, Request], Parsed]]] = {
    (openmeteo.SOURCE, openmeteo_forecast.PRODUCT.name): openmeteo_forecast.parse,
    (metno.SOURCE, metno.PRODUCT): metno.parse,
    (openmeteo.SOURCE, openmeteo_ensemble.PRODUCT.name): openmeteo_ensemble.parse,
    (openmeteo.SOURCE, openmeteo_profile.PRODUCT.name): openmeteo_profile.parse,
    (openmeteo.SOURCE, openmeteo_status.PRODUCT): openmeteo_status.parse,
}
"""What is a forecast, or tells its run, by source and product, and what reads it."""
SINGLES: Final = (
    (openmeteo.SOURCE, openmeteo_forecast.PRODUCT.name),
    (metno.SOURCE, metno.PRODUCT),
)
"""Single forecasts, the one the outlook asks first before the other."""

_NAME = re.compile(r"\d{8}T\d{6}Z\.gz", re.ASCII)


@dataclass(frozen=True, slots=True)
class KeptForecast:
    """One answer, with the request as of the moment it came."""

    name: str
    """Of the file."""
    request: Request
    body: bytes

    @property
    def product(self) -> tuple[str, str]:
        """Source and product."""
        return self.request.source, self.request.product

    def parsed(self) -> Parsed:
        """What its own parser reads in it, as of the moment it came.

        Raises
        ------
        SourceError
            If it is not good by today's rules.
        """
        return PARSERS[self.product](self.body, self.request)


class KeptForecasts:
    """The forecasts kept in one folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def keep(self, request: Request, body: bytes, retrieved: np.datetime64) -> None:
        """Keep one answer that was found good; what is there already is not touched.

        Anything but a forecast is passed over.

        Raises
        ------
        OutputError
            If it cannot be written; nothing of it is then there.
        """
        product = request.source, request.product
        if product not in PARSERS:
            return
        path = self._folder / shelf_of(product) / name_of(retrieved)
        content = seal(KIND, SCHEMA, head_of(request, retrieved), body)
        why = ""
        try:
            write_new(path, gzip.compress(content, mtime=0))
        except OSError as error:
            why = error.strerror or type(error).__name__
        if why:
            raise OutputError(f"{path}: cannot be written ({why})")


def shelf_of(product: tuple[str, str]) -> str:
    """The folder of one source and product."""
    return "-".join(product).replace(" ", "-")


def name_of(retrieved: np.datetime64) -> str:
    """The file of an answer that came then; later ones sort behind it."""
    moment = str(retrieved.astype("datetime64[s]"))
    return re.sub(r"[-:]", "", moment) + "Z.gz"


def newest_before(
    folder: Path, product: tuple[str, str], place: Place, moment: np.datetime64
) -> KeptForecast | None:
    """The last sound forecast for ``place`` that came no later than ``moment``."""
    latest = name_of(moment)
    names = sorted(
        each.name
        for each in (folder / shelf_of(product)).glob("*.gz")
        if _NAME.fullmatch(each.name) and each.name <= latest
    )
    for name in reversed(names):
        with suppress(ValueError, OSError):
            return _read(folder / shelf_of(product) / name, place)
    return None


def read_kept(
    folder: Path, place: Place, tell: Callable[[str, str], None]
) -> Iterator[KeptForecast]:
    """Every sound forecast for ``place`` in ``folder`` and below, file by file.

    What tells the run of others comes before them.

    A damaged or foreign file is left as it is and passed over; ``tell`` is told its
    name and what is wrong with it.

    Raises
    ------
    InputMissingError
        If there is no such folder.
    """
    if not folder.is_dir():
        raise InputMissingError(
            f"{folder}: no such folder; with weather.keep_forecasts = true a farm "
            "keeps its forecasts in .weather/forecasts"
        )
    for path in sorted(folder.rglob("*"), key=_runs_first):
        if path.is_dir() or path.name.startswith("."):
            continue
        try:
            yield _read(path, place)
        except ValueError as error:
            tell(path.name, str(error))
        except OSError as error:
            tell(path.name, f"cannot be read ({error.strerror})")


def _runs_first(path: Path) -> tuple[bool, Path]:
    return not path.parent.name.endswith(openmeteo_status.PRODUCT), path


def _read(path: Path, place: Place) -> KeptForecast:
    """One file; ValueError says what is wrong with it."""
    if path.is_symlink() or not path.is_file() or not _NAME.fullmatch(path.name):
        raise ValueError("is no kept forecast")
    head, body = unseal(KIND, SCHEMA, _unpacked(path))
    request = Request(
        source=str(head.get("source")),
        product=str(head.get("product")),
        url=str(head.get("url")),
        place=_place(head, place),
        made=moment_of(head),
        fresh_for=0,
    )
    if (request.source, request.product) not in PARSERS:
        raise ValueError("holds a product that is no forecast")
    return KeptForecast(path.name, request, body)


def _place(head: Mapping[str, Any], farm: Place) -> Place:
    """Where a forecast was asked for; it must be of the farm, which may have moved."""
    try:
        asked = float(str(head.get("latitude"))), float(str(head.get("longitude")))
        latitude, longitude = near(*asked, farm, "a kept forecast")
    except (ValueError, UnusableError):
        raise ValueError("is a forecast for another place than this farm") from None
    return replace(farm, latitude=latitude, longitude=longitude)


def _unpacked(path: Path) -> bytes:
    try:
        with path.open("rb") as packed, gzip.GzipFile(fileobj=packed) as file:
            content = file.read(LARGEST + 1)
    except (EOFError, zlib.error, gzip.BadGzipFile):
        raise ValueError("is damaged: it cannot be unpacked") from None
    if len(content) > LARGEST:
        raise ValueError("is too large to be ours")
    return content
