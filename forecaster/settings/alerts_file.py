"""What may be typed of alerts: who hears, through which channel, and when not."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from forecaster.settings.document import Flag, Number, Strict, within

ID = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,62}[a-z0-9])?")
RESERVED = frozenset(
    {"con", "prn", "aux", "nul"}
    | {f"{device}{number}" for device in ("com", "lpt") for number in range(1, 10)}
)
"""Names that Windows keeps for devices."""
Ranked = Literal["urgent", "push", "digest"]
_ALL: tuple[Ranked, ...] = ("urgent", "push", "digest")


def _id(text: str) -> str:
    if not ID.fullmatch(text) or text in RESERVED:
        raise ValueError(
            "allowed are 1 to 64 of a-z, 0-9 and -, not at an end, and no name of a "
            "device such as con"
        )
    return text


def _no_address(text: Any) -> Any:
    if isinstance(text, str) and "://" in text:
        # The value itself is a secret and is not repeated.
        raise ValueError(
            "an address of a channel is a secret: write it in secrets.toml beside "
            "this file, and its name there in here"
        )
    return text


def _time(typed: Any) -> Any:
    if not isinstance(typed, dt.time) or typed.tzinfo is not None:
        raise ValueError("allowed is a local time without quotes, such as 20:30:00")
    return typed


def _plain_file(text: str) -> str:
    name, _, ending = text.rpartition(".")
    if ending != "txt" or not ID.fullmatch(name) or name in RESERVED:
        raise ValueError(
            "allowed is a plain name of a text file in the farm folder, of a-z, 0-9 "
            "and -, such as alerts.txt"
        )
    return text


def _host(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9.:_-]{1,253}", text):
        raise ValueError(
            "allowed is the name or number of a host, such as mail.farm.lan, without "
            "http:// and path"
        )
    return text


Id = Annotated[str, AfterValidator(_id)]
SecretName = Annotated[str, BeforeValidator(_no_address), AfterValidator(_id)]
Time = Annotated[dt.time, BeforeValidator(_time)]


class ChannelEntry(Strict):
    """``[[alerts.channel]]``."""

    name: Id
    kind: Literal["apprise", "file"]
    secret: SecretName | None = None
    file: Annotated[str, AfterValidator(_plain_file)] | None = None
    ranks: list[Ranked] = Field(
        alias="for", default_factory=lambda: list(_ALL), min_length=1
    )
    second: Flag = False

    @model_validator(mode="after")
    def _whole(self) -> ChannelEntry:
        if self.kind == "apprise" and (self.secret is None or self.file is not None):
            raise ValueError(
                'kind "apprise" needs secret, the name of its address in '
                "secrets.toml, and no file"
            )
        if self.kind == "file" and (self.file is None or self.secret is not None):
            raise ValueError('kind "file" needs file, a name such as alerts.txt')
        return self


class AlertsEntry(Strict):
    """``[alerts]``."""

    check: Literal["hourly", "daily"] = "hourly"
    digest_at: Time = dt.time(5, 30)
    quiet_from: Time | None = None
    quiet_until: Time | None = None
    hectares_an_hour: Annotated[Number, within(0, 500, above=True)] | None = None
    heartbeat: SecretName | None = None
    private_hosts: list[Annotated[str, AfterValidator(_host)]] = Field(
        default_factory=list, max_length=20
    )
    channel: list[ChannelEntry] = Field(default_factory=list, max_length=20)

    @model_validator(mode="after")
    def _quiet(self) -> AlertsEntry:
        if (self.quiet_from is None) != (self.quiet_until is None):
            raise ValueError("quiet_from and quiet_until go together; one is missing")
        if self.quiet_from is not None and self.quiet_from == self.quiet_until:
            raise ValueError(
                "quiet_from and quiet_until are the same: that would be quiet for "
                "ever; leave both out or type two times"
            )
        names = [each.name for each in self.channel]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"two channels are called {', '.join(twice)}")
        if self.channel and all(each.second for each in self.channel):
            raise ValueError(
                "every channel is a second one; at least one has to be the first"
            )
        return self
