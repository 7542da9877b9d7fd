"""The demo's outlook, made once for the tests of pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from forecaster.service.daily import outlook

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook
    from forecaster.service.farm_day import FarmDay


@pytest.fixture(scope="session")
def demo(demo_day: FarmDay) -> Outlook:
    """The demo farm's outlook at its own moment."""
    return outlook(demo_day, demo=True)
