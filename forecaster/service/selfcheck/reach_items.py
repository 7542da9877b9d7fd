"""net.source, chan.*, hb.ping: whoever the program has to reach."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.alerts import keys
from forecaster.domain.alerts.finding import Finding, fail, ok, skipped, warn
from forecaster.domain.alerts.letter import Fate
from forecaster.domain.alerts.news import News
from forecaster.domain.alerts.phases import hours
from forecaster.domain.alerts.records import Rank
from forecaster.errors import ForecasterError, SecretsError
from forecaster.notify.channels import channel_of, heartbeat_of
from forecaster.notify.hosts import fault_of
from forecaster.render import alert_text
from forecaster.service.selfcheck.asked_once import asked
from forecaster.service.selfcheck.settings_items import NO_FARM
from forecaster.service.selfcheck.subject import Item, Subject
from forecaster.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Iterator

    from forecaster.domain.alerts.letter import Outcome
    from forecaster.domain.alerts.records import Run
    from forecaster.settings.alerts_file import ChannelEntry
    from forecaster.settings.farm import Farm

PROBE_S = 8.0
SEND_S = 30.0
WATCHED_D = 14
BEAT_PERIODS = 3
"""Periods without a full success after which a watcher should have spoken. Assumed."""


def source(subject: Subject) -> Finding:
    """net.source: how old the weather of the last check is, and one small question."""
    farm = subject.farm
    if farm is None:
        return skipped(NO_FARM)
    heard = asked(subject)
    if heard is not None and heard.fault is not None:
        fault = heard.fault
        why = " ".join(str(fault).split())
        return fail(f"{heard.source} gave no forecast: {why}",
                    "mend what it says, or try again in an hour",
                    fault.exit_code)  # fmt: skip
    live = "" if heard is None else f"{heard.source} answers{_aged(heard.age_h)}; "
    return _last_weather(subject, farm, live)


def _aged(age_h: float) -> str:
    return "" if np.isnan(age_h) else f" with a forecast {age_h:.0f} h old"


def _last_weather(subject: Subject, farm: Farm, live: str) -> Finding:
    rules, last = farm.alerts.rules, _last_run(subject)
    if last is None:
        return ok(f"{live}no check has run yet") if live else skipped("no check yet")
    remedy = f"{subject.check}; it says what is wrong"
    if last.issued is None:
        return fail(f"{live}the last check had no weather", remedy, 69)
    age = float((subject.now - last.issued) / hours(1))
    said = f"{live}the last check's forecast is {age:.0f} h old"
    if age > rules.stale_h:
        return fail(f"{said}: too old to judge by", remedy, 69)
    if age > rules.ageing_h:
        return warn(f"{said}; beyond {rules.stale_h:g} h nothing is told", remedy)
    return ok(said)


def _last_run(subject: Subject) -> Run | None:
    try:
        with Reader.of(subject.state) as reader:
            return reader.last_run(subject.now + np.timedelta64(1, "s"))
    except ForecasterError:
        return None


# ---------------------------------------------------------------- channels


def channels(farm: Farm) -> Iterator[Item]:
    """One thing to look at for each channel."""
    for each in farm.alerts.channels:
        yield Item(
            f"chan.{each.name}",
            f"channel {each.name}: whether it could send; nothing is sent",
            partial(_probe, farm, each),
        )


def _probe(farm: Farm, entry: ChannelEntry, subject: Subject) -> Finding:
    if subject.offline and entry.kind != "file":
        return skipped("offline")
    try:
        outcome = channel_of(farm, entry).probe(PROBE_S)
    except SecretsError as error:
        return fail(str(error), f"edit {farm.folder / 'secrets.toml'}", 77)
    return _outcome(outcome, entry, "could send")


def tests(farm: Farm) -> Iterator[Item]:
    """One test message for each channel."""
    for each in farm.alerts.channels:
        yield Item(
            f"test.{each.name}",
            f"a test message through channel {each.name}",
            partial(_send, farm, each),
            limit_s=SEND_S + 5.0,
        )


def _send(farm: Farm, entry: ChannelEntry, subject: Subject) -> Finding:
    last = _last_run(subject)
    issued = (
        np.datetime64("NaT") if last is None or last.issued is None else last.issued
    )
    age = float((subject.now - issued) / hours(1))
    news = News(farm.name, farm.place.zone, Rank.RECEIPT, subject.now, age,
                usable=False, items=(), about_farm=())  # fmt: skip
    key = keys.of_digest(entry.name, f"selfcheck {subject.now}")
    try:
        outcome = channel_of(farm, entry).send(alert_text.letter(news, key), SEND_S)
    except SecretsError as error:
        return fail(str(error), f"edit {farm.folder / 'secrets.toml'}", 77)
    return _outcome(outcome, entry, "accepted a test message")


def _outcome(outcome: Outcome, entry: ChannelEntry, good: str) -> Finding:
    if outcome.fate is Fate.ACCEPTED:
        return ok(good)
    where = "secrets.toml" if entry.secret else "farm.toml"
    if outcome.fate is Fate.LATER:
        return fail(f"not now: {outcome.words}", "try again in a while", 75)
    return fail(outcome.words, f"edit channel {entry.name} in {where}", 77)


# --------------------------------------------------------------- heartbeat


def heartbeat(subject: Subject) -> Finding:
    """hb.ping: whether a watcher outside is told, and when it last heard of success."""
    farm = subject.farm
    if farm is None:
        return skipped(NO_FARM)
    if farm.alerts.heartbeat is None:
        return skipped(
            "none is set: if this computer stops, nobody is told. See heartbeat in "
            "docs/how-to/get-alerts.md"
        )
    heart, fault = heartbeat_of(farm)
    edit = f"edit {farm.folder / 'secrets.toml'}"
    if fault or heart.address is None:
        return fail(fault, edit, 77)
    if not subject.offline:
        why = fault_of(heart.address.reveal(), heart.private_hosts)
        if why:
            return fail(why, edit, 77)
    return _last_success(subject, farm)


def _last_success(subject: Subject, farm: Farm) -> Finding:
    since = subject.now - hours(24 * WATCHED_D)
    try:
        with Reader.of(subject.state) as reader:
            good = [r.started for r in reader.runs(since, subject.now) if r.ok]
    except ForecasterError:
        return ok("set; no check has run yet")
    if not good:
        return warn(f"set; no check was a full success in {WATCHED_D} days",
                    subject.check)  # fmt: skip
    age = float((subject.now - max(good)) / hours(1))
    said = f"set; the last full success was {age:.1f} h ago"
    if age > BEAT_PERIODS * farm.alerts.rules.period_h:
        return warn(f"{said}: the watcher should have spoken", subject.check)
    return ok(said)
