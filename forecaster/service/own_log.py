"""Logs that people write are kept in a farm of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.errors import UsageError
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from forecaster.settings.farm import Farm


def own_farm(farm: Farm, what: str) -> Farm:
    """The farm, if ``what``, such as looks, may be written to it.

    Raises
    ------
    UsageError
        If it is the demo, which ships inside the program.
    """
    if farm.folder.resolve() == demo_folder().resolve():
        raise UsageError(
            f"{what} are kept in the folder of your own farm, and this is the demo. "
            "Make one with 'forecaster init my-farm', then run from inside it or add "
            "--farm my-farm"
        )
    return farm
