"""Options and fixtures of the whole suite."""

from __future__ import annotations

import importlib
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from types import ModuleType

    from forecaster.service.farm_day import FarmDay

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.load_profile("fixed")

ROOT = Path(__file__).resolve().parent.parent


def pytest_addoption(parser: pytest.Parser) -> None:
    """``--remake`` writes golden files anew; look at the difference before keeping."""
    parser.addoption("--remake", action="store_true", help="write golden files anew")


@pytest.fixture(scope="session")
def pcse() -> ModuleType:
    """The crop-model library; its first import ever leaves a settings file open."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        return importlib.import_module("pcse")


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the checkout, for docs, fixtures and the demo's maker."""
    return ROOT


@pytest.fixture(scope="session")
def demo_day() -> FarmDay:
    """The demo farm at its own moment, its looks and all."""
    from forecaster.service.wiring import farm_day
    from forecaster.settings.shipped import demo_folder

    day, _ = farm_day(demo_folder(), None, None)
    return day
