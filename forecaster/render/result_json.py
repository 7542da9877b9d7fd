"""Did the spray work? One paddock and spring as plain values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from forecaster.domain.result.expected import carry_over_needed

if TYPE_CHECKING:
    from forecaster.domain.result.expected import Expected
    from forecaster.domain.result.reduction import Strip
    from forecaster.domain.result.result_page import ResultPage
    from forecaster.domain.sourced import Sourced


def tree(page: ResultPage) -> dict[str, Any]:
    """Units stand in the names; what is not known is null."""
    found = page.found
    return {
        "demo": page.demo,
        "paddock": page.paddock,
        "weed_name": page.weed_name,
        "year": page.year,
        "active": page.active,
        "stage": page.stage,
        "side_cm": page.side_cm,
        "treated": _strip(found.treated),
        "untreated": _strip(found.untreated),
        "seedlings_of_untreated": {
            "low": _known(found.low),
            "found": _known(found.ratio),
            "high": _known(found.high),
            "limits": 0.95,
        },
        "over_dispersion": _known(found.alpha),
        "expected_of_untreated": _expected(page.wanted),
        "expected_at_stage": _expected(page.at_stage),
        "judged": page.judged.value,
        "causes": [
            {"cause": each.cause.value, "evidence": each.evidence.value}
            for each in page.causes
        ],
        "older_seed_needed": None
        if page.wanted is None
        else _known(carry_over_needed(found, page.wanted)),
        "springs_running": page.run,
        "by_the_record": list(page.by_record),
        "remarks": list(page.remarks),
    }


def _strip(strip: Strip) -> dict[str, Any]:
    return {
        "plants_by_square": list(strip.counts),
        "plants_per_m2": strip.plants_m2,
        "few": strip.few,
    }


def _expected(wanted: Expected | None) -> dict[str, Any] | None:
    if wanted is None:
        return None
    return {
        "low": wanted.low,
        "likely": wanted.value,
        "high": wanted.high,
        "control": _sourced(wanted.control),
        "carry_over": _sourced(wanted.carry_over),
    }


def _sourced(value: Sourced) -> dict[str, Any]:
    return {
        "value": value.value,
        "low": value.low,
        "high": value.high,
        "mark": value.mark.value,
        "source": value.source,
    }


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
