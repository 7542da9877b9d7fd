"""Where each key and value of a TOML file stands, as line and column.

The standard parser gives plain values without places; a second pass over the
syntax tree gives the places without values.
"""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tree_sitter import Node

Path: TypeAlias = tuple[str | int, ...]
Position: TypeAlias = tuple[int, int]
Found: TypeAlias = tuple[Path, Position]

_KEYS = {"bare_key", "quoted_key", "dotted_key"}


def positions(text: str) -> dict[Path, Position]:
    """Line and column (from 1) of every table, key and array item in ``text``.

    A key such as ``paddock.3.name`` is ``("paddock", 3, "name")``; arrays of tables
    count from 0. The place of a pair is that of its key.
    """
    return dict(_everything(text))


def repeated(text: str) -> Position | None:
    """Where the first key or table that stands twice in ``text`` stood before."""
    seen: dict[Path, Position] = {}
    for path, place in _everything(text):
        if path in seen:
            return seen[path]
        seen[path] = place
    return None


def _everything(text: str) -> Iterator[Found]:
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    parser = Parser(Language(tree_sitter_toml.language()))
    counts: dict[Path, int] = {}
    data = text.encode("utf-8")
    for node in parser.parse(data).root_node.children:
        if node.type == "pair":
            yield from _pair(node, (), data)
        elif node.type in {"table", "table_array_element"}:
            yield from _table(node, data, counts)


def _table(node: Node, data: bytes, counts: dict[Path, int]) -> Iterator[Found]:
    key = _key(node)
    prefix = _resolved(_words(key, data), counts)
    if node.type == "table_array_element":
        index = counts.get(prefix, -1) + 1
        counts[prefix] = index
        prefix = (*prefix, index)
    yield prefix, _place(key, data)
    for child in node.children:
        if child.type == "pair":
            yield from _pair(child, prefix, data)


def _resolved(words: tuple[str, ...], counts: dict[Path, int]) -> Path:
    """``[a.b]`` after ``[[a]]`` means the last item of ``a``."""
    path: Path = ()
    for number, word in enumerate(words):
        path = (*path, word)
        if path in counts and number < len(words) - 1:
            path = (*path, counts[path])
    return path


def _pair(node: Node, prefix: Path, data: bytes) -> Iterator[Found]:
    key = _key(node)
    path = (*prefix, *_words(key, data))
    yield path, _place(key, data)
    yield from _value(node.children[-1], path, data)


def _value(node: Node, path: Path, data: bytes) -> Iterator[Found]:
    if node.type == "inline_table":
        for child in node.children:
            if child.type == "pair":
                yield from _pair(child, path, data)
    elif node.type == "array":
        items = [child for child in node.named_children if child.type != "comment"]
        for number, item in enumerate(items):
            yield (*path, number), _place(item, data)
            yield from _value(item, (*path, number), data)


def _key(node: Node) -> Node:
    return next(child for child in node.children if child.type in _KEYS)


def _words(key: Node, data: bytes) -> tuple[str, ...]:
    if key.type == "dotted_key":
        parts = [child for child in key.children if child.type in _KEYS]
        return tuple(word for part in parts for word in _words(part, data))
    word = data[key.start_byte : key.end_byte].decode("utf-8")
    # The standard parser takes off the quotes and knows the escapes.
    return tuple(tomllib.loads(f"{word} = 0"))


def _place(node: Node, data: bytes) -> Position:
    line_start = data.rfind(b"\n", 0, node.start_byte) + 1
    column = len(data[line_start : node.start_byte].decode("utf-8"))
    return node.start_point[0] + 1, column + 1
