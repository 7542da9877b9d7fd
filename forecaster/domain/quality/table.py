"""Values and what was said against each, while the rules go over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.marks import Marks

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.quality.flags import Flag
    from forecaster.domain.weather import Bools, Floats


@dataclass(frozen=True, slots=True)
class Table:
    """One array of values and its marks for each quantity, hours or rows last."""

    values: Mapping[str, Floats]
    marks: Mapping[str, Marks]

    @classmethod
    def of(cls, values: Mapping[str, Floats], marks: Mapping[str, Marks]) -> Table:
        """Values with what was said against them before, if anything."""
        return cls(
            values,
            {
                name: marks.get(name) or Marks.none(each.shape)
                for name, each in values.items()
            },
        )

    def keep(self, name: str, flag: Flag, where: Bools) -> Table:
        """Mark values and leave them."""
        if not where.any():
            return self
        marks = self.marks[name].add(flag, where)
        return Table(self.values, {**self.marks, name: marks})

    def change(self, name: str, flag: Flag, where: Bools, to: Floats | float) -> Table:
        """Mark values, remember them and put others in their place."""
        if not where.any():
            return self
        values = self.values[name]
        marks = self.marks[name].add(flag, where).keep(where, values)
        return Table(
            {**self.values, name: np.where(where, to, values)},
            {**self.marks, name: marks},
        )

    def remove(self, name: str, flag: Flag, where: Bools) -> Table:
        """Mark values, remember them and set them to missing."""
        return self.change(name, flag, where, np.nan)
