"""The list of many farms as a page of HTML."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.render import farms as list_words
from forecaster.render.templating import page

if TYPE_CHECKING:
    from forecaster.domain.farms import FarmsOutlook


def farms(value: FarmsOutlook) -> str:
    """The list of many farms."""
    return page(
        "farms.html.j2",
        title=list_words.TITLE,
        sorted_by=list_words.SORTED,
        check=list_words.CHECK,
        head=list_words.HEAD,
        alarms=list_words.alarms(value),
        rows=[list_words.in_words(row).cells for row in value.rows],
        farms=[(each.farm, list_words.notes(each)) for each in value.farms],
    )
