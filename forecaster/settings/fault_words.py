"""What pydantic found wrong, in the words and at the places of the file."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any, get_args

from pydantic import BaseModel

from forecaster.settings.names import plain

if TYPE_CHECKING:
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

    from forecaster.errors import Fault
    from forecaster.settings.document import Document
    from forecaster.settings.toml_positions import Path

_DATE = "a date without quotes, such as 2026-09-01"
_MOMENT = (
    "a date and time with its offset, without quotes, such as 2026-10-12T06:00:00+11:00"
)
_TABLE = "a table of keys and values"
_ALLOWED = {
    "float_type": "a number, without quotes",
    "int_type": "a whole number, without quotes",
    "finite_number": "a plain number",
    "string_type": 'words in "quotes"',
    "bool_type": "true or false, without quotes",
    "date_type": _DATE,
    "datetime_type": _MOMENT,
    "timezone_aware": _MOMENT,
    "list_type": "a list in [square brackets]",
    "tuple_type": "a list in [square brackets]",
    "dict_type": _TABLE,
    "model_type": _TABLE,
    "literal_error": "{expected}",
    "enum": "{expected}",
    "greater_than": "above {gt:g}",
    "greater_than_equal": "{ge:g} or more",
    "less_than": "below {lt:g}",
    "less_than_equal": "{le:g} or less",
    "too_short": "{min_length} or more of them",
    "too_long": "up to {max_length:,} of them",
    "string_too_short": "{min_length} or more characters",
    "string_too_long": "up to {max_length} characters",
}
"""What is allowed, by pydantic's name of the problem."""


def faults_of(
    document: Document, model: type[BaseModel], error: ValidationError
) -> list[Fault]:
    """Each problem of a file, once, in the order of the file."""
    faults = [_fault(document, model, each) for each in error.errors(include_url=False)]
    # A dict keeps the order; a set would shuffle the faults of one place.
    return sorted(dict.fromkeys(faults), key=lambda fault: (fault.line, fault.column))


def _fault(document: Document, model: type[BaseModel], each: ErrorDetails) -> Fault:
    path = _file_path(document, each["loc"])
    name = _name(path)
    if each["type"] == "missing":
        return document.fault(path[:-1], f"{name} is missing; add it here")
    if each["type"] == "extra_forbidden":
        return document.fault(path, f"{name} is not a known key{_meant(model, path)}")
    shown = "" if _secret(path, each["input"]) else _shown(each["input"])
    return document.fault(path, f"{name}{shown}: {_wrong(each, path)}")


def _secret(path: Path, found: Any) -> bool:
    """Whether it may be the address of a channel, which is never repeated."""
    return bool(path) and path[0] == "alerts" and "://" in repr(found)


def _wrong(each: ErrorDetails, path: Path) -> str:
    kind, found = each["type"], each["input"]
    if kind.startswith("too_") and isinstance(found, str):
        kind = f"string_{kind}"
    if kind not in _ALLOWED:
        return each["msg"].removeprefix("Value error, ")
    allowed = f"allowed is {_ALLOWED[kind].format(**each.get('ctx', {}))}"
    if kind == "list_type" and isinstance(found, dict):
        return f"{allowed}, or [[{path[-1]}]] in double brackets"
    odd = (
        [each for each in found if not each.isascii()] if isinstance(found, str) else []
    )
    if kind == "float_type" and odd:
        return f"{allowed}; {plain(odd[0])} is U+{ord(odd[0]):04X}"
    return allowed


def _meant(model: type[BaseModel], path: Path) -> str:
    """The known key next to a strange one, or all keys of its table."""
    table: Any = model
    for part in path[:-1]:
        table = _inner(table, part)
    fields = table.model_fields
    keys = [field.alias or name for name, field in fields.items()]
    near = difflib.get_close_matches(str(path[-1]), keys, n=1)
    if near:
        return f"; did you mean {near[0]}?"
    return f"; remove it or check the spelling: {', '.join(keys)}"


def _inner(annotation: Any, part: str | int) -> Any:
    """The type that stands at ``part`` of a table, list or model."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        fields = annotation.model_fields
        field = fields.get(str(part)) or fields["root"]
        inner = _unwrapped(field.annotation)
        return inner if str(part) in fields else _inner(inner, part)
    held = [each for each in get_args(annotation) if each is not Ellipsis]
    return _unwrapped(held[-1])


def _unwrapped(annotation: Any) -> Any:
    """``X`` of ``Annotated[X, …]`` and ``X | None``."""
    if hasattr(annotation, "__metadata__"):
        return _unwrapped(annotation.__origin__)
    parts = get_args(annotation)
    if type(None) in parts:
        return _unwrapped(next(each for each in parts if each is not type(None)))
    return annotation


def _file_path(document: Document, loc: tuple[int | str, ...]) -> Path:
    """Drop the parts of a pydantic location that are not keys of the file."""
    path: Path = ()
    here: Any = document.data
    for number, part in enumerate(loc):
        last = number == len(loc) - 1
        if isinstance(here, dict) and (part in here or last):
            here = here.get(str(part))
        elif isinstance(here, list) and isinstance(part, int):
            here = here[part]
        else:
            continue
        path = (*path, part)
    return path


def _name(path: Path) -> str:
    """``paddock 2: weeds.capeweed``; lists count from 1, as people do."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f" {part + 1}: "
        else:
            key = plain(part)
            bare = key[1:-1] if key[1:-1] == part else key
            text += bare if not text or text.endswith(" ") else f".{bare}"
    return text.removesuffix(": ") or "the file"


def _shown(value: object) -> str:
    """`` = "value"``; nothing for a table or list, whose own lines can be read."""
    if isinstance(value, dict | list):
        return ""
    if isinstance(value, bool):
        return f" = {str(value).lower()}"
    try:
        text = plain(str(value))
    except ValueError:  # Python prints no whole number of more than 4300 digits
        return ""
    return f" = {text if isinstance(value, str) else text[1:-1]}"
