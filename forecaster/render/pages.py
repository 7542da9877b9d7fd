"""Small pages of HTML from templates: self-contained, no script, nothing fetched."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from forecaster.render import farms as list_words

if TYPE_CHECKING:
    import jinja2

    from forecaster.domain.farms import FarmsOutlook

TEMPLATES = Path(__file__).with_name("templates")


@cache
def _environment() -> jinja2.Environment:
    import jinja2

    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def page(template: str, **values: Any) -> str:
    """A template filled in; every value is escaped, and a missing one is an error."""
    return _environment().get_template(template).render(**values)


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
