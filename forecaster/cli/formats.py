"""What ``outlook --format`` can make besides text and JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forecaster.domain.farms import FarmsOutlook
    from forecaster.domain.outlook import Outlook
    from forecaster.domain.rig.rig_plan import RigPlan

OUTLOOK = ("html", "ics", "csv", "sms", "md")
FARMS = ("text", "json", "csv", "html", "md")


def outlook_as(form: str, outlook: Outlook, plan: RigPlan | None = None) -> str | bytes:
    """One farm's outlook in one of :data:`OUTLOOK`, with the order of a rig if any."""
    from forecaster.render import calendar, html, markdown, sms, table

    if form == "html":
        return html.render(outlook, plan)
    if form == "ics":
        return calendar.render(outlook, plan)
    if form == "csv":
        return table.render(outlook, plan)
    return (
        sms.render(outlook, plan) if form == "sms" else markdown.render(outlook, plan)
    )


def farms_as(form: str, value: FarmsOutlook) -> str | bytes:
    """Many farms in one of :data:`FARMS`."""
    from forecaster.render import farms, pages
    from forecaster.render.json import dumps

    if form == "json":
        return dumps(farms.tree(value))
    if form == "html":
        return pages.farms(value)
    if form == "csv":
        return farms.csv(value)
    return farms.md(value) if form == "md" else farms.text(value)
