"""The channels of a farm, made from its file and its secrets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.errors import SecretsError
from forecaster.notify.file_channel import FileChannel
from forecaster.notify.heartbeat import Heartbeat
from forecaster.settings.secrets import read_secrets

if TYPE_CHECKING:
    from forecaster.ports import Notifier
    from forecaster.settings.alerts_file import ChannelEntry
    from forecaster.settings.farm import Farm


def channels_of(farm: Farm) -> tuple[tuple[Notifier, ...], tuple[str, ...]]:
    """Every channel that can be set up, and why the others cannot."""
    made: list[Notifier] = []
    faults: list[str] = []
    for each in farm.alerts.channels:
        try:
            made.append(channel_of(farm, each))
        except SecretsError as error:
            faults.append(f"channel {each.name}: {error}")
    return tuple(made), tuple(faults)


def channel_of(farm: Farm, entry: ChannelEntry) -> Notifier:
    """One channel.

    Raises
    ------
    SecretsError
        If its address is missing, or others may read it.
    """
    if entry.kind == "file":
        return FileChannel(entry.name, farm.folder / str(entry.file))
    from forecaster.notify.apprise_channel import AppriseChannel

    address = read_secrets(farm.folder).of(str(entry.secret))
    return AppriseChannel(entry.name, address, farm.alerts.private_hosts)


def heartbeat_of(farm: Farm) -> tuple[Heartbeat, str]:
    """What tells the outside that checks go on, silent if unwanted; and a fault."""
    silent = Heartbeat(None, ())
    name = farm.alerts.heartbeat
    if name is None:
        return silent, ""
    try:
        address = read_secrets(farm.folder).of(name)
    except SecretsError as error:
        return silent, f"heartbeat: {error}"
    return Heartbeat(address, farm.alerts.private_hosts), ""
