"""Names of files in a pack: what every system can hold, and nothing that leads out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from forecaster.settings.names import same_name, text_fault

if TYPE_CHECKING:
    from collections.abc import Iterable

MANIFEST = "manifest.json"
FARM, HISTORY, VIEWS = "farm", "history", "views"
FOLDERS = (FARM, HISTORY, VIEWS)
LONGEST_PART = 120
LONGEST_NAME = 240
DEEPEST = 6
"""Folders in folders."""
SECRETS = "secrets.toml"
_BARRED = frozenset('<>:"|?*\\')
_DEVICE = re.compile(r"(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(\..*)?", re.IGNORECASE)
"""Names Windows keeps for itself (Microsoft, Naming Files, Paths, and Namespaces)."""


def name_fault(name: str) -> str | None:
    """What is wrong with a relative name with ``/`` between its parts, or None."""
    parts = name.split("/")
    if not 0 < len(name) <= LONGEST_NAME or len(parts) > DEEPEST:
        return f"it is empty, longer than {LONGEST_NAME}, or more than {DEEPEST} deep"
    return next(filter(None, map(_part_fault, parts)), None)


def _part_fault(part: str) -> str | None:
    if part in {"", ".", ".."}:
        return "it leads out of the folder, or is no plain relative name"
    rules = (
        (part.startswith("."), "a part of it is hidden"),
        (len(part) > LONGEST_PART, f"a part of it is longer than {LONGEST_PART}"),
        (
            part[-1] in ". " or part[0] == " ",
            "a part begins or ends with a space or dot",
        ),
        (
            bool(_BARRED & set(part) or text_fault(part)),
            "it holds a character that some systems do not take",
        ),
        (bool(_DEVICE.fullmatch(part)), "a part of it is a device on Windows"),
        (same_name(part) == SECRETS, "secrets are never packed"),
    )
    return next((why for broken, why in rules if broken), None)


def entry_fault(name: str) -> str | None:
    """The same for an entry of a pack, which lies in one of three folders."""
    if name == MANIFEST:
        return None
    fault = name_fault(name)
    if fault:
        return fault
    folder, _, rest = name.partition("/")
    if folder not in FOLDERS or not rest:
        return f"it lies in none of {', '.join(FOLDERS)}"
    if folder == FARM and same_name(rest).startswith(f"{HISTORY}/"):
        return f"a file of the farm may not lie in {HISTORY}"
    return None


def clash(names: Iterable[str]) -> str | None:
    """A name that is another's but for capitals, or a folder in another; or None."""
    seen: set[str] = set()
    folders: set[str] = set()
    for name in names:
        same = same_name(name)
        parts = same.split("/")
        above = {"/".join(parts[:end]) for end in range(1, len(parts))}
        if same in seen or same in folders or above & seen:
            return name
        seen.add(same)
        folders |= above
    return None
