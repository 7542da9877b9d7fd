"""Plain values as one line of text and back, and a checksum over each row.

A row that was changed by anything but this program, a failing disk included, does not
match its checksum: SQLite's own check does not look inside a row.
"""

from __future__ import annotations

import hashlib
import json
import types
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

from forecaster.domain.alerts import reading, records

T = TypeVar("T")
_NAMES = {**vars(records), **vars(reading), "np": np}


def text_of(value: Any) -> str:
    """One line of JSON; the same value always gives the same line."""
    return json.dumps(_plain(value), ensure_ascii=False, separators=(",", ":"))


def checksum(*parts: str) -> str:
    """Of a row: its table, its columns and its text."""
    joined = "\x1f".join(parts).encode("utf-8", "surrogatepass")
    return hashlib.blake2b(joined, digest_size=8).hexdigest()


def value_of(kind: type[T], text: str) -> T:
    """The value that :func:`text_of` wrote.

    Raises
    ------
    ValueError
        If the text is not one of this kind, whole and with nothing more.
    """
    try:
        made: T = _read(kind, json.loads(text))
    except (TypeError, KeyError, AttributeError) as error:
        raise ValueError(f"not a {kind.__name__}: {error}") from None
    return made


def _plain(value: Any) -> Any:
    if isinstance(value, np.datetime64):
        return str(value.astype("datetime64[s]"))
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, dict):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, (tuple, list, set, frozenset)):
        return [_plain(each) for each in value]
    return value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind, globalns=_NAMES)


def _read(kind: Any, plain: Any) -> Any:
    origin = get_origin(kind)
    if origin in {Union, types.UnionType}:
        inner = [each for each in get_args(kind) if each is not type(None)]
        return None if plain is None else _read(inner[0], plain)
    if origin is tuple:
        return tuple(_read(get_args(kind)[0], each) for each in _list(plain))
    if origin is dict:
        return {key: _read(get_args(kind)[1], each) for key, each in plain.items()}
    if is_dataclass(kind):
        return _dataclass(kind, plain)
    return _scalar(kind, plain)


def _scalar(kind: Any, plain: Any) -> Any:
    if kind is np.datetime64:
        return np.datetime64(plain, "s")
    if issubclass(kind, tuple):
        parts = zip(_hints(kind).values(), _list(plain), strict=True)
        return kind(*(_read(hint, each) for hint, each in parts))
    if issubclass(kind, Enum):
        return kind(plain)
    whole = type(plain) is int and kind is float
    if type(plain) is not kind and not whole:
        raise TypeError(f"{plain!r:.40} is no {kind.__name__}")
    return kind(plain)


def _list(plain: Any) -> list[Any]:
    if not isinstance(plain, list):
        raise TypeError(f"{plain!r:.40} is no list")
    return plain


def _dataclass(kind: Any, plain: Any) -> Any:
    """A missing field has its default: a table may be older than the program."""
    hints = _hints(kind)
    foreign = plain.keys() - hints.keys()
    needed = {
        each.name
        for each in fields(kind)
        if each.default is MISSING and each.default_factory is MISSING
    }
    if foreign or needed - plain.keys():
        wrong = sorted(foreign or needed - plain.keys())
        raise TypeError(f"fields {', '.join(wrong)}")
    return kind(**{name: _read(hints[name], each) for name, each in plain.items()})
