"""A sourced number as it is written in a TOML file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from pydantic import Field, model_validator

from forecaster.domain.sourced import Mark, Sourced
from forecaster.settings.document import Number, Strict
from forecaster.settings.quantity_units import inside

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.domain.spraying.limits import Quantity


class SourcedNumber(Strict):
    """``{ value, unit, low, high, source, page, mark }``; none may be left out."""

    value: Number
    unit: str = Field(min_length=1)
    low: Number
    high: Number
    source: str = Field(min_length=3)
    page: str = Field(min_length=1)
    mark: Mark

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low <= self.value <= self.high:
            raise ValueError(
                f"value {self.value:g} must lie between low {self.low:g} "
                f"and high {self.high:g}"
            )
        return self

    def inside(self, quantity: Quantity) -> float:
        """The number in the unit the domain uses for ``quantity``.

        Raises
        ------
        ValueError
            If ``quantity`` is not stated in this unit.
        """
        return inside(quantity, self.value, self.unit)

    def sourced(self) -> Sourced:
        """The number as the domain reads it."""
        return Sourced(
            self.value,
            self.unit,
            self.low,
            self.high,
            self.source,
            self.page,
            self.mark,
        )


def bounded(
    unit: str, lowest: float, highest: float
) -> Callable[[SourcedNumber], SourcedNumber]:
    """Accept one unit, and values from ``lowest`` to ``highest``."""

    def check(number: SourcedNumber) -> SourcedNumber:
        if number.unit != unit:
            raise ValueError(f'unit "{number.unit}" must be "{unit}"')
        if not lowest <= number.value <= highest:
            raise ValueError(
                f"value {number.value:g} must lie between {lowest:g} and "
                f"{highest:g} {unit}"
            )
        return number

    return check
