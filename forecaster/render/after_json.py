"""What stands of a paddock since its spray, as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render.plain_values import iso, number

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.outlook import PaddockOutlook
    from forecaster.domain.record.after import Recorded
    from forecaster.domain.record.after_spray import AfterSpray
    from forecaster.domain.record.keeping import Keeping


def after_tree(paddock: PaddockOutlook) -> dict[str, Any]:
    """The fields of a paddock that rest on its having been sprayed."""
    after = paddock.after
    return {
        "sprayed": day_text(paddock.sprayed),
        "after": None if after is None else tree(after),
    }


def tree(after: AfterSpray) -> dict[str, Any]:
    """All of it."""
    return {
        "recorded": None if after.recorded is None else _recorded(after.recorded),
        "stock_not_before": day_text(after.not_before),
        "stock_too_early": [
            {"mob": each.mob, "from": str(each.start), "until": str(each.end)}
            for each in after.too_early
        ],
        "second_look": _days(after.look_again),
        "counted_since": [
            {
                "weed": each.weed_name,
                "day": day_text(each.day),
                "late_heads": each.late,
                "ripe_heads": each.ripe,
            }
            for each in after.escaped
        ],
        **_feed(after.keeping),
        "sprayed_capeweed": after.broadleaf,
        "due": [each.value for each in after.due],
    }


def _feed(kept: Keeping) -> dict[str, Any]:
    rain = kept.rain
    return {
        "feed_goes_off": _days(kept.held),
        "soaked": rain.soaked.value,
        "soaked_at": None if rain.at is None else iso(rain.at),
        "rain_since_mm": number(rain.fallen),
        "rain_hours_unknown": rain.gaps,
    }


def _recorded(told: Recorded) -> dict[str, Any]:
    return {"actives": list(told.actives), "finish": iso(told.finish)}


def _days(span: tuple[np.datetime64, np.datetime64]) -> list[str]:
    return [str(each) for each in span]


def day_text(day: np.datetime64 | None) -> str | None:
    """``2026-10-14``, or nothing."""
    return None if day is None else str(day)
