"""The demo's outlook in every format, to the byte; ``--remake`` writes them anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from forecaster.cli.formats import outlook_as
from forecaster.service.daily import outlook

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.service.farm_day import FarmDay

FILES = {"ics": "outlook.ics", "csv": "outlook.csv", "md": "outlook.md",
         "sms": "outlook.sms.txt"}  # fmt: skip


@pytest.mark.parametrize("form", FILES)
def test_the_demo_prints_what_it_printed(
    form: str, demo_day: FarmDay, root: Path, request: pytest.FixtureRequest
) -> None:
    """Same farm, same weather, same moment: the same bytes."""
    path = root / "fixtures" / "golden" / FILES[form]
    made = outlook_as(form, outlook(demo_day, demo=True))
    data = made.encode("utf-8") if isinstance(made, str) else made
    if request.config.getoption("--remake"):
        path.write_bytes(data)
    assert data == path.read_bytes()
