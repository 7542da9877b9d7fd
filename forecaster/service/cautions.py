"""The cautions every outlook carries."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.settings.farm import Farm, Paddock

GENERAL = (
    (
        "This is no label, no permit and no advice to use a rate. The label, the law "
        "of your state and the licensed person on the boom decide."
    ),
    (
        "No forecast can clear an inversion. At the site, before and while spraying: "
        "measure the wind, watch smoke or dust; stop at fog, dew, calm or hung smoke."
    ),
    (
        "No published thermal-time set exists for these weeds. Until heads have been "
        "counted in the paddock the dates are good to about 10 to 14 days; one count "
        "is worth more than the model."
    ),
)


def lines(farm: Farm) -> tuple[str, ...]:
    """General cautions, then those of the actives the farm would use."""
    used = {active for paddock in farm.paddocks for active in paddock.actives}
    own = (
        caution
        for name, active in farm.actives.items()
        if name in used
        for caution in active.cautions
    )
    return (*GENERAL, *own)


def toxicity(farm: Farm, paddock: Paddock) -> str:
    """The warning of a paddock where ryegrass may poison stock, or nothing."""
    if not paddock.ryegrass_toxicity:
        return ""
    for name in paddock.weeds:
        weed = farm.weeds[name]
        if weed.toxicity is None:
            continue
        if name == paddock.target:
            return weed.toxicity.warning
        return (
            f"{weed.toxicity.warning} This paddock is timed for "
            f'{farm.weeds[paddock.target].name}: type target = "{name}" to time it '
            "for toxicity."
        )
    return ""
