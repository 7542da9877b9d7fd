"""What chances are made from, to be told with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.spraying.chance import of_label
from forecaster.domain.spraying.forecast_error import (
    LEAD_DAYS,
    Errors,
    error_of,
    measured_of,
)
from forecaster.domain.spraying.limits import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.spraying.limits import Limit


@dataclass(frozen=True, slots=True)
class ErrorLine:
    """Errors of one quantity by age of the forecast, in its unit."""

    quantity: Quantity
    lead_days: tuple[float, ...]
    size: tuple[float, ...]
    measured: str
    """What was held against what; empty where the error is assumed."""


@dataclass(frozen=True, slots=True)
class ChanceBasis:
    """What the chances of one paddock's hours are made from."""

    members: int
    """Forecasts of an ensemble; 0 where there is one forecast only."""
    source: str
    """Whose forecasts."""
    errors: tuple[ErrorLine, ...]
    """Of each quantity the confirmed label bounds; empty where it bounds none."""


def basis_of(
    limits: Sequence[Limit], errors: Errors, members: int, source: str
) -> ChanceBasis:
    """The basis of chances to keep within ``limits``."""
    lines: dict[Quantity, ErrorLine] = {}
    for limit in of_label(limits):
        if limit.quantity in {Quantity.INVERSION_RISK, Quantity.WIND_SIDE}:
            continue
        found = measured_of(limit.quantity, errors)
        size = error_of(limit, np.array(LEAD_DAYS), errors)
        lines.setdefault(
            limit.quantity,
            ErrorLine(
                limit.quantity,
                LEAD_DAYS,
                tuple(size.tolist()),
                "" if found is None else found.source,
            ),
        )
    return ChanceBasis(members, source, tuple(lines.values()))
