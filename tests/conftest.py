"""Options and fixtures of the whole suite."""

from __future__ import annotations

import importlib
import sys
import warnings
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from filelock import FileLock
from hypothesis import settings

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

    from forecaster.service.farm_day import FarmDay

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.load_profile("fixed")

ROOT = Path(__file__).resolve().parent.parent
MOST_PROCESSES = 2
"""At once: more would disturb the tests that measure time."""
MEASURED = "measured"


def pytest_addoption(parser: pytest.Parser) -> None:
    """``--remake`` writes golden files anew; look at the difference before keeping."""
    parser.addoption("--remake", action="store_true", help="write golden files anew")


@pytest.fixture(scope="session")
def pcse(tmp_path_factory: pytest.TempPathFactory) -> ModuleType:
    """The crop-model library; its first import ever leaves a settings file open.

    That import makes a folder, settings and a database, so one process at a time.
    """
    shared = tmp_path_factory.getbasetemp().parent
    with FileLock(shared / "pcse.lock"), warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        return importlib.import_module("pcse")


@pytest.fixture(scope="session")
def psychrolib() -> Any:
    """PsychroLib in SI units, as plain Python: to compile it takes seconds."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "numba", None)
        import psychrolib as library

    library.SetUnitSystem(library.SI)
    return library


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """The whole suite runs in two processes; what is named runs in this one.

    A word about processes on the command line counts first, and without pytest-xdist
    there is one. So there is with ``--cov``, which must know how many before this.
    """
    option = config.option
    named = config.args_source is pytest.Config.ArgsSource.ARGS
    worker = hasattr(config, "workerinput")
    told = getattr(option, "numprocesses", 1) is not None
    if not (named or worker or told or getattr(option, "cov_source", None)):
        option.numprocesses = "auto"
        option.maxprocesses = option.maxprocesses or MOST_PROCESSES
        option.dist = "worksteal"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """What the benchmarks measured, in whichever process they ran."""
    reports = terminalreporter.getreports("passed") + terminalreporter.getreports(
        "failed"
    )
    told = [
        text
        for report in reports
        for name, text in report.user_properties
        if name == MEASURED and report.when == "call"
    ]
    if told:
        terminalreporter.section("measured")
        terminalreporter.write_line("\n".join(told))


@pytest.fixture
def measured(record_property: Callable[[str, object], None]) -> Callable[[str], None]:
    """Takes what a benchmark found; it is printed at the end of the run."""
    return partial(record_property, MEASURED)


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
