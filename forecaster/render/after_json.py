"""What comes after a spray, as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from forecaster.domain.outlook import PaddockOutlook


def after_tree(paddock: PaddockOutlook) -> dict[str, Any]:
    """The fields of a paddock that rest on its having been sprayed."""
    told, look = paddock.recorded, paddock.second_look
    first = None if told is None else told.not_before
    return {
        "sprayed": None if paddock.sprayed is None else str(paddock.sprayed),
        "recorded": None
        if told is None
        else {
            "actives": list(told.actives),
            "finish": f"{told.finish}Z",
            "stock_not_before": None if first is None else str(first),
        },
        "second_look": None if look is None else [str(each) for each in look],
    }
