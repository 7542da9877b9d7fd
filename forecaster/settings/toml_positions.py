"""Where each key and value of a TOML file stands, as line and column.

The standard parser gives plain values without places; a second pass over the
syntax tree gives the places without values.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from tree_sitter import Node

Path: TypeAlias = tuple[str | int, ...]
Position: TypeAlias = tuple[int, int]

_KEYS = {"bare_key", "quoted_key", "dotted_key"}


def positions(text: str) -> dict[Path, Position]:
    """Line and column (from 1) of every table, key and array item in ``text``.

    A key such as ``paddock.3.name`` is ``("paddock", 3, "name")``; arrays of tables
    count from 0. The place of a pair is that of its key.
    """
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    parser = Parser(Language(tree_sitter_toml.language()))
    found: dict[Path, Position] = {}
    counts: dict[Path, int] = {}
    data = text.encode("utf-8")
    for node in parser.parse(data).root_node.children:
        if node.type == "pair":
            _pair(node, (), data, found)
        elif node.type in {"table", "table_array_element"}:
            _table(node, data, found, counts)
    return found


def _table(
    node: Node, data: bytes, found: dict[Path, Position], counts: dict[Path, int]
) -> None:
    key = next(child for child in node.children if child.type in _KEYS)
    prefix = _resolved(_words(key, data), counts)
    if node.type == "table_array_element":
        index = counts.get(prefix, -1) + 1
        counts[prefix] = index
        prefix = (*prefix, index)
    found[prefix] = _place(key, data)
    for child in node.children:
        if child.type == "pair":
            _pair(child, prefix, data, found)


def _resolved(words: tuple[str, ...], counts: dict[Path, int]) -> Path:
    """``[a.b]`` after ``[[a]]`` means the last item of ``a``."""
    path: Path = ()
    for number, word in enumerate(words):
        path = (*path, word)
        if path in counts and number < len(words) - 1:
            path = (*path, counts[path])
    return path


def _pair(node: Node, prefix: Path, data: bytes, found: dict[Path, Position]) -> None:
    key = next(child for child in node.children if child.type in _KEYS)
    path = (*prefix, *_words(key, data))
    found[path] = _place(key, data)
    _value(node.children[-1], path, data, found)


def _value(node: Node, path: Path, data: bytes, found: dict[Path, Position]) -> None:
    if node.type == "inline_table":
        for child in node.children:
            if child.type == "pair":
                _pair(child, path, data, found)
    elif node.type == "array":
        items = [child for child in node.named_children if child.type != "comment"]
        for number, item in enumerate(items):
            found[*path, number] = _place(item, data)
            _value(item, (*path, number), data, found)


def _words(key: Node, data: bytes) -> tuple[str, ...]:
    if key.type == "dotted_key":
        parts = [child for child in key.children if child.type in _KEYS]
        return tuple(word for part in parts for word in _words(part, data))
    word = data[key.start_byte : key.end_byte].decode("utf-8")
    return (word.strip("\"'"),)


def _place(node: Node, data: bytes) -> Position:
    line_start = data.rfind(b"\n", 0, node.start_byte) + 1
    column = len(data[line_start : node.start_byte].decode("utf-8", "replace"))
    return node.start_point[0] + 1, column + 1
