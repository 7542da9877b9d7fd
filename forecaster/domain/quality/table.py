"""Values and what was said against each, while the rules go over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from forecaster.domain.quality.flags import Bits, Flag
    from forecaster.domain.weather import Bools, Floats


@dataclass(frozen=True, slots=True)
class Table:
    """One array of values and one of bits for each quantity, hours last."""

    values: Mapping[str, Floats]
    flags: Mapping[str, Bits]

    @classmethod
    def of(cls, values: Mapping[str, Floats]) -> Table:
        """Values that nothing is said against yet."""
        return cls(
            values,
            {name: np.zeros(each.shape, np.uint16) for name, each in values.items()},
        )

    def keep(self, name: str, flag: Flag, where: Bools) -> Table:
        """Mark values and leave them."""
        bits = self.flags[name] | np.where(where, np.uint16(flag), np.uint16(0))
        return Table(self.values, {**self.flags, name: bits})

    def change(self, name: str, flag: Flag, where: Bools, to: Floats | float) -> Table:
        """Mark values and put others in their place."""
        marked = self.keep(name, flag, where)
        values = np.where(where, to, self.values[name])
        return Table({**self.values, name: values}, marked.flags)

    def remove(self, name: str, flag: Flag, where: Bools) -> Table:
        """Mark values and set them to missing."""
        return self.change(name, flag, where, np.nan)
