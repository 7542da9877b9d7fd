"""The demo farm as work for a rig, with parts of its outlook changed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

import pytest

from forecaster.service.daily import outlook
from forecaster.service.rig.jobs import FarmWork

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook
    from forecaster.service.farm_day import FarmDay


class Works(Protocol):
    """The demo's work; ``actives`` of a paddock changed, everywhere or by its name."""

    def __call__(self, paddock: str = "", **changes: Any) -> FarmWork: ...


@pytest.fixture(scope="session")
def demo_outlook(demo_day: FarmDay) -> Outlook:
    """The demo's outlook."""
    return outlook(demo_day, demo=True)


@pytest.fixture
def work(demo_day: FarmDay, demo_outlook: Outlook) -> Works:
    """A function that makes the demo's work."""

    def make(paddock: str = "", **changes: Any) -> FarmWork:
        paddocks = tuple(
            replace(
                each,
                actives=tuple(replace(one, **changes) for one in each.actives),
            )
            if each.name == paddock
            else each
            for each in demo_outlook.paddocks
        )
        changed = replace(demo_outlook, paddocks=paddocks)
        return FarmWork(demo_day.farm, changed, changed.until)

    return make
