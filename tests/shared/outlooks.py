"""The demo's outlook with parts of it changed, for tests of pages."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.outlook import ActiveOutlook, Outlook, PaddockOutlook


def paddock(outlook: Outlook, name: str = "Back Road") -> PaddockOutlook:
    """One paddock of an outlook."""
    return next(each for each in outlook.paddocks if each.name == name)


def with_paddock(outlook: Outlook, name: str = "Back Road", **changes: Any) -> Outlook:
    """An outlook of this paddock alone, changed."""
    return replace(outlook, paddocks=(replace(paddock(outlook, name), **changes),))


def with_active(outlook: Outlook, name: str = "Back Road", **changes: Any) -> Outlook:
    """An outlook of this paddock and its first active alone, that active changed."""
    first: ActiveOutlook = paddock(outlook, name).actives[0]
    return with_paddock(outlook, name, actives=(replace(first, **changes),))


def named(outlook: Outlook, names: Iterable[str]) -> Outlook:
    """The first paddock under each of the names, on a farm called like the last."""
    all_names = tuple(names)
    first = paddock(outlook)
    return replace(
        outlook,
        farm=all_names[-1],
        paddocks=tuple(replace(first, name=name, id="") for name in all_names),
    )
