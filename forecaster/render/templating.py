"""Pages of HTML from templates: self-contained, no script, nothing fetched."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from forecaster.render.page_text import letters

if TYPE_CHECKING:
    import jinja2


def page(template: str, **values: Any) -> str:
    """A template filled in; every value is escaped, and a missing one is an error."""
    return _environment().get_template(template).render(**values)


@cache
def _environment() -> jinja2.Environment:
    """Templates of this package, read when first used."""
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("forecaster.render"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_only_letters,
    )


def _only_letters(value: object) -> object:
    """No character that HTML does not have; escaped text stays escaped."""
    return letters(value) if type(value) is str else value
