"""What was said against each value of a column, kept beside the column."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Mapping

Bits: TypeAlias = npt.NDArray[np.uint16]
_Floats: TypeAlias = npt.NDArray[np.float64]
_Rows: TypeAlias = npt.NDArray[np.integer]


@dataclass(frozen=True, slots=True)
class Marks:
    """Flags and refused values of one column, in its shape: (…, hours).

    ``bits`` holds one bit for each rule that spoke (:class:`.quality.flags.Flag`), 0
    where none did. ``given`` is what stood there before it was refused or replaced, in
    the unit of the column; NaN where nothing did.
    """

    bits: Bits
    given: _Floats

    @classmethod
    def none(cls, shape: tuple[int, ...]) -> Marks:
        """Nothing said against any value."""
        return cls(np.zeros(shape, np.uint16), np.full(shape, np.nan))

    def add(self, bit: int, where: npt.NDArray[np.bool_]) -> Marks:
        """One bit more on some values, which stay."""
        return Marks(
            self.bits | np.where(where, np.uint16(bit), np.uint16(0)), self.given
        )

    def keep(self, where: npt.NDArray[np.bool_], values: _Floats) -> Marks:
        """Remember ``values`` that go; the first that stood there counts."""
        return Marks(
            self.bits, np.where(where & np.isnan(self.given), values, self.given)
        )

    def take(self, rows: _Rows | slice) -> Marks:
        """The marks of other rows; nothing is said where a row is −1."""
        bits, given = self.bits[..., rows], self.given[..., rows]
        if isinstance(rows, slice):
            return Marks(bits, given)
        return Marks(
            np.where(rows < 0, np.uint16(0), bits), np.where(rows < 0, np.nan, given)
        )


def take_all(marks: Mapping[str, Marks], rows: _Rows | slice) -> dict[str, Marks]:
    """:meth:`Marks.take` for each column."""
    return {name: each.take(rows) for name, each in marks.items()}


def spoken(marks: Mapping[str, Marks]) -> dict[str, Marks]:
    """The columns against which anything was said."""
    return {name: each for name, each in marks.items() if each.bits.any()}
