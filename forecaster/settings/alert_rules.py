"""When the alerts speak, from ``config/alerts.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias

from pydantic import AfterValidator

from forecaster.domain.alerts.rules import Rules
from forecaster.settings.document import Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber, bounded

if TYPE_CHECKING:
    from pathlib import Path

Every: TypeAlias = Literal["hourly", "daily"]
PERIOD_H: dict[Every, float] = {"hourly": 1.0, "daily": 24.0}
Days: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("d", 0.1, 7))]
Hours: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("h", 0.5, 96))]
Factor: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("factor", 1, 10))]
Count: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("count", 1, 5))]
Seconds: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("s", 10, 7200))]
Minutes: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("min", 1, 120))]
Rate: TypeAlias = Annotated[SourcedNumber, AfterValidator(bounded("ha/h", 1, 200))]


class DeadBand(Strict):
    """``[dead_band]``."""

    least: Days
    most: Days
    jitters: Factor


class Confirmation(Strict):
    """``[confirmation]``."""

    votes: Count
    wait_at_most: Hours
    checks_apart: Hours


class Again(Strict):
    """``[again]``."""

    moved: Days
    moved_every: Hours
    hours_every: Hours
    no_weather_every: Hours


class SprayHours(Strict):
    """``[hours]``."""

    spare: Hours
    hectares_an_hour: Rate


class WeatherAge(Strict):
    """``[weather_age]``."""

    ageing: Hours
    stale: Hours
    ageing_daily: Hours
    stale_daily: Hours


class Program(Strict):
    """``[program]``."""

    clock_back: Seconds
    clock_off: Seconds
    off: Factor
    urgent_late: Minutes


class AlertsFile(Strict):
    """The whole file."""

    dead_band: DeadBand
    confirmation: Confirmation
    again: Again
    hours: SprayHours
    weather_age: WeatherAge
    program: Program


def read_alert_rules(path: Path) -> AlertsFile:
    """The numbers of the alerts.

    Raises
    ------
    InputMissingError
        If there is no such file.
    SettingsError
        With every fault of it.
    """
    return validate(read_document(path), AlertsFile)


def rules_of(file: AlertsFile, every: Every) -> Rules:
    """The rules of a farm that is checked so often."""
    age, daily = file.weather_age, every == "daily"
    return Rules(
        band_least_d=file.dead_band.least.value,
        band_most_d=file.dead_band.most.value,
        band_jitters=file.dead_band.jitters.value,
        votes=int(file.confirmation.votes.value),
        wait_at_most_h=file.confirmation.wait_at_most.value,
        moved_d=file.again.moved.value,
        moved_every_h=file.again.moved_every.value,
        hours_every_h=file.again.hours_every.value,
        spare_hours_h=file.hours.spare.value,
        ageing_h=(age.ageing_daily if daily else age.ageing).value,
        stale_h=(age.stale_daily if daily else age.stale).value,
        stale_every_h=file.again.no_weather_every.value,
        clock_back_s=file.program.clock_back.value,
        clock_off_s=file.program.clock_off.value,
        off_periods=file.program.off.value,
        urgent_late_min=file.program.urgent_late.value,
        votes_span_h=file.confirmation.checks_apart.value,
        period_h=PERIOD_H[every],
    )
