"""The shipped weeds, actives and limits, loaded together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from forecaster.settings.actives import Active, load_actives
from forecaster.settings.alert_rules import AlertsFile, read_alert_rules
from forecaster.settings.choice import load_choice
from forecaster.settings.controls import load_controls
from forecaster.settings.feed_file import load_feed
from forecaster.settings.grazing import load_grazing
from forecaster.settings.limits import load_limits
from forecaster.settings.looks import read_look_numbers
from forecaster.settings.weeds import load_weeds

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.choice.rows import Table
    from forecaster.domain.feed.typed import FeedNumbers
    from forecaster.domain.growth.control import WeedControl
    from forecaster.domain.growth.grazing import GrazingNumbers
    from forecaster.domain.growth.look import LookNumbers
    from forecaster.domain.growth.weed import Mode, Weed
    from forecaster.domain.spraying.limits import Limit


@dataclass(frozen=True, slots=True)
class Library:
    """Everything a farm file may name.

    ``limits`` are the advice and data limits by the mode of active they apply to;
    ``controls`` what is published on spraying each weed.
    """

    weeds: dict[str, Weed]
    actives: dict[str, Active]
    limits: dict[Mode, tuple[Limit, ...]]
    looks: LookNumbers
    controls: dict[str, WeedControl]
    grazing: GrazingNumbers
    alerts: AlertsFile
    choice: Table
    feed: FeedNumbers


@cache
def load_library(config: Path) -> Library:
    """Read ``weeds``, ``actives``, ``limits``, ``control`` and the single files.

    Once in a process: what ships does not change while the program runs.

    Raises
    ------
    SettingsError
        If one of the files is wrong.
    """
    weeds = load_weeds(config / "weeds")
    return Library(
        weeds,
        load_actives(config / "actives"),
        load_limits(config / "limits"),
        read_look_numbers(config / "looks.toml"),
        load_controls(config / "control", weeds),
        load_grazing(config / "grazing.toml"),
        read_alert_rules(config / "alerts.toml"),
        load_choice(config / "choice.toml"),
        load_feed(config / "feed.toml"),
    )
