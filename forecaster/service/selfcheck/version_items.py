"""ver.deps: whether what is installed is what the program asks for."""

from __future__ import annotations

import re
from importlib import metadata
from typing import TYPE_CHECKING

from forecaster.domain.alerts.finding import Finding, fail, ok, skipped

if TYPE_CHECKING:
    from forecaster.service.selfcheck.subject import Subject

PROJECT = "forecaster"
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


def packages(subject: Subject) -> Finding:
    """ver.deps: installed packages against what the program's metadata asks for."""
    del subject
    try:
        wanted = metadata.requires(PROJECT) or []
    except metadata.PackageNotFoundError:
        return skipped("the program runs from its source, without metadata")
    needed = [each for each in wanted if "extra ==" not in each]
    wrong = [fault for each in needed if (fault := fault_of(each))]
    if wrong:
        return fail(f"{len(wrong)} packages are not as asked for",
                    "pip install -U forecaster", 71, tuple(wrong))  # fmt: skip
    return ok(f"{len(needed)} packages are as asked for")


def fault_of(requirement: str) -> str:
    """What is wrong with an installed package, or nothing.

    Versions and markers are read by the package ``packaging``; without it only
    presence is looked at.
    """
    found = _NAME.match(requirement)
    name = found[0] if found else requirement
    try:
        installed = metadata.version(name)
    except metadata.PackageNotFoundError:
        installed = ""
    try:
        from packaging.requirements import InvalidRequirement, Requirement
    except ImportError:
        return "" if installed else f"{name}: not installed"
    try:
        asked = Requirement(requirement)
    except InvalidRequirement:
        return f"{requirement}: cannot be read"
    if asked.marker is not None and not asked.marker.evaluate():
        return ""
    if not installed:
        return f"{name}: not installed, asked for is {asked.specifier}"
    if not asked.specifier.contains(installed, prereleases=True):
        return f"{name}: {installed} is installed, asked for is {asked.specifier}"
    return ""
