"""Plain values as one line of text and back, and a checksum over each row.

A row that was changed by anything but this program, a failing disk included, does not
match its checksum: SQLite's own check does not look inside a row.
"""

from __future__ import annotations

import json
import operator
import types
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from hashlib import blake2b
from typing import (
    TYPE_CHECKING,
    Any,
    NamedTuple,
    TypeVar,
    Union,
    cast,
    get_args,
    get_origin,
    get_type_hints,
)

import numpy as np

from forecaster.domain.alerts import reading, records

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

T = TypeVar("T")
_NAMES = {**vars(records), **vars(reading), "np": np}
_SECONDS = np.dtype("datetime64[s]")
# All but ASCII is escaped: no character there may be keeps a row from being kept.
_json = json.JSONEncoder(separators=(",", ":")).encode


def text_of(value: Any) -> str:
    """One line of JSON; the same value always gives the same line.

    Raises
    ------
    TypeError
        If a field is not of its kind.
    """
    return _json(_coder(cast("Hashable", type(value))).pack(value))


def checksum(table: str, *columns: Any) -> int:
    """Of a row: its table, its columns and its text; 63 bits, as SQLite can hold."""
    joined = "\n".join([table, *map(repr, columns)])
    digest = blake2b(joined.encode("utf-8", "surrogatepass"), digest_size=8).digest()
    return int.from_bytes(digest, "big") >> 1


def value_of(kind: type[T], text: str) -> T:
    """The value that :func:`text_of` wrote; a missing field has its default.

    Raises
    ------
    ValueError
        If the text is not one of this kind, whole and with nothing more.
    """
    try:
        made: T = _coder(cast("Hashable", kind)).unpack(json.loads(text))
    except (TypeError, KeyError, AttributeError, RecursionError) as error:
        raise ValueError(f"not a {kind.__name__}: {error}") from None
    return made


class _Coder(NamedTuple):
    """To what JSON knows and back, made once for each kind of value."""

    pack: Callable[[Any], Any]
    unpack: Callable[[Any], Any]


@cache
def _coder(kind: Hashable) -> _Coder:
    origin, inner = get_origin(kind), get_args(kind)
    if origin in {Union, types.UnionType}:
        return _maybe(next(each for each in inner if each is not type(None)))
    if origin is tuple:
        return _many(inner[0])
    if origin is dict:
        return _table(inner[1])
    return _SCALARS.get(kind) or _made(kind)


def _made(kind: Any) -> _Coder:
    """Of a class of the domain."""
    if is_dataclass(kind):
        return _dataclass(kind)
    if issubclass(kind, tuple):
        return _named(kind)
    members = {each.value: each for each in kind}
    return _Coder(lambda value: kind(value).value, members.__getitem__)


def _maybe(kind: Any) -> _Coder:
    pack, unpack = _coder(kind)
    return _Coder(
        lambda value: None if value is None else pack(value),
        lambda plain: None if plain is None else unpack(plain),
    )


def _many(kind: Any) -> _Coder:
    pack, unpack = _coder(kind)
    return _Coder(
        lambda value: [pack(each) for each in value],
        lambda plain: tuple(unpack(each) for each in _list(plain)),
    )


def _table(kind: Any) -> _Coder:
    pack, unpack = _coder(kind)
    return _Coder(
        lambda value: {_str(key): pack(each) for key, each in value.items()},
        lambda plain: {key: unpack(each) for key, each in plain.items()},
    )


def _dataclass(kind: Any) -> _Coder:
    hints = get_type_hints(kind, globalns=_NAMES)
    coders = {each.name: _coder(hints[each.name]) for each in fields(kind)}
    needed = {
        each.name
        for each in fields(kind)
        if each.default is MISSING and each.default_factory is MISSING
    }
    packs = [(name, coder.pack) for name, coder in coders.items()]
    unpacks = [(name, coder.unpack) for name, coder in coders.items()]

    def pack(value: Any) -> Any:
        return {name: pack(getattr(value, name)) for name, pack in packs}

    def unpack(plain: Any) -> Any:
        if plain.keys() == coders.keys():
            return kind(*[unpack(plain[name]) for name, unpack in unpacks])
        wrong = (plain.keys() - coders.keys()) or (needed - plain.keys())
        if wrong:
            raise TypeError(f"fields {', '.join(sorted(wrong))}")
        return kind(**{name: coders[name].unpack(plain[name]) for name in plain})

    return _Coder(pack, unpack)


def _named(kind: Any) -> _Coder:
    """A named tuple: a list in the order of its fields."""
    hints = get_type_hints(kind, globalns=_NAMES)
    coders = [_coder(hints[name]) for name in kind._fields]

    def pack(value: Any) -> Any:
        pairs = zip(coders, value, strict=True)
        return [coder.pack(each) for coder, each in pairs]

    def unpack(plain: Any) -> Any:
        if len(_list(plain)) != len(coders):
            raise TypeError(f"{len(plain)} values for {kind.__name__}")
        pairs = zip(coders, plain, strict=True)
        return kind(*[coder.unpack(each) for coder, each in pairs])

    return _Coder(pack, unpack)


def _moment_text(value: np.datetime64) -> str:
    return str(value if value.dtype == _SECONDS else value.astype(_SECONDS))


def _moment(plain: Any) -> np.datetime64:
    if type(plain) is str:
        made = np.datetime64(plain, "s")
        if str(made) == plain:
            return made
    raise TypeError(f"{plain!r:.40} is no moment as we write it")


def _list(plain: Any) -> list[Any]:
    if type(plain) is list:
        return plain
    raise TypeError(f"{plain!r:.40} is no list")


def _str(plain: Any) -> str:
    if type(plain) is str:
        return plain
    raise TypeError(f"{plain!r:.40} is no text")


def _int(plain: Any) -> int:
    if type(plain) is int:
        return plain
    raise TypeError(f"{plain!r:.40} is no whole number")


def _float(plain: Any) -> float:
    if type(plain) is float or type(plain) is int:
        return float(plain)
    raise TypeError(f"{plain!r:.40} is no number")


def _bool(value: Any) -> bool:
    if type(value) is bool or isinstance(value, np.bool_):
        return bool(value)
    raise TypeError(f"{value!r:.40} is neither true nor false")


_SCALARS: dict[Hashable, _Coder] = {
    np.datetime64: _Coder(_moment_text, _moment),
    str: _Coder(str, _str),
    bool: _Coder(_bool, _bool),
    int: _Coder(operator.index, _int),
    float: _Coder(float, _float),
}
