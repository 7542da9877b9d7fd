"""The fields of a record, in the order they are asked for and printed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Block(StrEnum):
    """Where a field is printed; readings of the site are never mixed with others."""

    JOB = "job"
    ON_SITE = "on site"
    AGAINST = "against the forecast"


@dataclass(frozen=True, slots=True)
class Field:
    """A plain field; ``unit`` and bounds where it is a number."""

    name: str
    label: str
    block: Block = Block.JOB
    unit: str = ""
    low: float | None = None
    high: float | None = None

    @property
    def number(self) -> bool:
        """Whether a number is wanted."""
        return self.low is not None


FIELDS = (
    Field("product", "Product, as on the label"),
    Field("rate", "Rate, as on the label"),
    Field("quantity", "Quantity of product used"),
    Field("water_l_ha", "Water", unit="L/ha", low=1, high=2000),
    Field("hectares", "Area sprayed", unit="ha", low=0.01, high=20_000),
    Field("situation", "Crop or situation"),
    Field("weed", "Weed"),
    Field("stage", "Stage of the weed"),
    Field("place", "Address or place"),
    Field("operator", "Operator"),
    Field("operator_contact", "Operator's address and phone"),
    Field("licence", "Licence or accreditation"),
    Field("supervisor", "Supervisor"),
    Field("applied_for", "Sprayed for (owner, occupier)"),
    Field("applied_for_contact", "Their address and phone"),
    Field("rig", "Rig"),
    Field("method", "Method"),
    Field("nozzle", "Nozzle"),
    Field("droplets", "Droplet class"),
    Field("pressure", "Pressure"),
    Field("boom_height_m", "Boom above target", unit="m", low=0.1, high=5),
    Field("wind_steady", "Wind kept its side and speed", Block.ON_SITE),
    Field("temperature_c", "Temperature", Block.ON_SITE, "°C", -15, 55),
    Field("humidity_pct", "Relative humidity", Block.ON_SITE, "%", 0, 100),
    Field("delta_t_c", "Delta T", Block.ON_SITE, "°C", 0, 30),
    Field("clouds", "Clouds", Block.ON_SITE),
    Field("rain", "Rain", Block.ON_SITE),
    Field("note", "Note"),
    Field("override_by", "Sprayed against the forecast, decided by", Block.AGAINST),
    Field("override_reason", "Sprayed against the forecast, because", Block.AGAINST),
)
"""Every plain field."""

BY_NAME = {each.name: each for each in FIELDS}

OTHER_LABELS = {
    "paddock": "Paddock",
    "active": "Active",
    "start": "Start",
    "finish": "Finish",
    "wind_speed": "Wind speed at the start",
    "wind_from": "Side the wind came from",
    "wind_changes": "Changes of the wind, or that there were none",
    "tanks": "Tanks",
    "withholding": "Withholding days from the label",
}
"""Fields that are more than a line of words."""


WIND_AT_START = "Wind at the start"
"""Speed and side as they were typed, in one line."""


def label_of(name: str) -> str:
    """What a field is called on a page.

    Raises
    ------
    KeyError
        If there is no such field.
    """
    return BY_NAME[name].label if name in BY_NAME else OTHER_LABELS[name]
