"""Names that stand twice in one table of a farm file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.settings.names import same_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from forecaster.errors import Fault
    from forecaster.settings.document import Document


def repeated(
    document: Document, table: str, names: Iterable[str], word: str = ""
) -> Iterator[Fault]:
    """A fault for each entry of ``table`` whose name an earlier one has.

    ``word`` is what one of them is called, where that is not the table's own name.
    """
    first: dict[str, int] = {}
    for number, name in enumerate(names):
        earlier = first.setdefault(same_name(name), number)
        if earlier != number:
            line, _ = document.position((table, earlier, "name"))
            yield document.fault(
                (table, number, "name"),
                f"a second {word or table} called {name!r} (the first is on line "
                f"{line}); rename one",
            )
