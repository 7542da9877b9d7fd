"""How long values stay the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from forecaster.domain.weather import Bools, Floats


def run_lengths(*columns: Floats) -> npt.NDArray[np.intp]:
    """Length of the run of equal values that each hour lies in.

    Parameters
    ----------
    columns : (…, hours) arrays that broadcast together
        With several, a run lasts as long as none of them moves.

    Returns
    -------
    (…, hours) array
        [h] 1 where a value stands alone or is NaN.
    """
    hours = columns[0].shape[-1]
    same: Bools = np.ones((), dtype=np.bool_)
    for column in columns:
        same = same & (column[..., 1:] == column[..., :-1])
    edge = np.zeros((*same.shape[:-1], 1), dtype=np.bool_)
    begins = ~np.concatenate((edge, same), axis=-1)[..., :hours]
    ends = ~np.concatenate((same, edge), axis=-1)[..., :hours]
    at = np.arange(hours)
    first = np.maximum.accumulate(np.where(begins, at, 0), axis=-1)
    backwards = np.where(ends, at, hours)[..., ::-1]
    last = np.minimum.accumulate(backwards, axis=-1)[..., ::-1]
    lengths: npt.NDArray[np.intp] = last - first + 1
    return lengths
