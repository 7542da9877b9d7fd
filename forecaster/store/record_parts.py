"""A job and what stands beside it as plain values of JSON; null where not known."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from forecaster.domain.planning.withholding import LabelSays, Withholding
from forecaster.domain.record.fields import BY_NAME
from forecaster.domain.record.job import Job, Tank, Wind, WindChange
from forecaster.domain.record.log import Around, Beside, SeenHour
from forecaster.store.line_values import (
    moment_in,
    moment_text,
    name_in,
    text_in,
)

_HOUR = (
    ("wind_speed", "wind_ms"),
    ("wind_from", "wind_from_deg"),
    ("temperature", "temperature_c"),
    ("humidity", "humidity_pct"),
    ("delta_t", "delta_t_c"),
    ("rain", "rain_mm"),
)
"""Name in the program, and in the file with its unit."""


def job_tree(job: Job) -> dict[str, Any]:
    """A job as plain values."""
    return {
        "paddock": job.paddock,
        "active": job.active,
        "start": moment_text(job.start),
        "finish": moment_text(job.finish),
        "said": dict(job.said),
        "wind": _wind_tree(job.wind),
        "changes": [
            {"at": moment_text(each.at), "wind": _wind_tree(each.wind)}
            for each in job.changes
        ],
        "tanks": [
            {
                "start": moment_text(each.start),
                "finish": moment_text(each.finish),
                "litres": _known(each.litres),
                "hectares": _known(each.hectares),
            }
            for each in job.tanks
        ],
        "withholding": {
            "says": job.withholding.says.value,
            "days": job.withholding.days,
        },
    }


def job_of(tree: dict[str, Any]) -> Job:
    """The job such values stand for.

    Raises
    ------
    KeyError, TypeError, ValueError
        If they stand for none.
    """
    held = tree["withholding"]
    winds = [(moment_in(each["at"]), _wind(each["wind"])) for each in tree["changes"]]
    job = Job(
        paddock=name_in(tree["paddock"]),
        active=name_in(tree["active"]),
        start=moment_in(tree["start"]),
        finish=moment_in(tree["finish"]),
        said={_field(key): text_in(value) for key, value in tree["said"].items()},
        wind=_wind(tree["wind"]),
        changes=tuple(WindChange(at, wind) for at, wind in winds if wind),
        tanks=tuple(
            Tank(
                moment_in(each["start"]),
                moment_in(each["finish"]),
                _number(each["litres"]),
                _number(each["hectares"]),
            )
            for each in tree["tanks"]
        ),
        withholding=Withholding(LabelSays(held["says"]), _days(held["days"])),
    )
    if not job.start < job.finish:
        raise ValueError
    return job


def around_tree(around: Around) -> dict[str, Any]:
    """What stands beside a job as plain values, its blocks apart."""
    return {
        "forecast": _beside_tree(around.forecast),
        "observed": _beside_tree(around.observed),
        "against": list(around.against),
    }


def around_of(tree: dict[str, Any]) -> Around:
    """What such values stand for.

    Raises
    ------
    KeyError, TypeError, ValueError
        If they stand for nothing.
    """
    return Around(
        _beside(tree["forecast"]),
        _beside(tree["observed"]),
        tuple(text_in(each) for each in tree["against"]),
    )


def _beside_tree(beside: Beside | None) -> dict[str, Any] | None:
    if beside is None:
        return None
    return {
        "source": beside.source,
        "issued": None if np.isnat(beside.issued) else moment_text(beside.issued),
        "hours": [
            {
                "time": moment_text(hour.time),
                **{key: _known(getattr(hour, name)) for name, key in _HOUR},
                "verdict": hour.verdict,
            }
            for hour in beside.hours
        ],
    }


def _beside(tree: dict[str, Any] | None) -> Beside | None:
    if tree is None:
        return None
    issued = tree["issued"]
    return Beside(
        text_in(tree["source"]),
        np.datetime64("NaT", "s") if issued is None else moment_in(issued),
        tuple(
            SeenHour(
                time=moment_in(hour["time"]),
                verdict=text_in(hour["verdict"]),
                **{name: _number(hour[key]) for name, key in _HOUR},
            )
            for hour in tree["hours"]
        ),
    )


def _wind_tree(wind: Wind | None) -> dict[str, Any] | None:
    if wind is None:
        return None
    return {
        "speed_ms": wind.speed,
        "from_deg": _known(wind.side),
        "typed": wind.typed,
    }


def _wind(tree: dict[str, Any] | None) -> Wind | None:
    if tree is None:
        return None
    return Wind(
        _number(tree["speed_ms"]), _number(tree["from_deg"]), text_in(tree["typed"])
    )


def _known(number: float) -> float | None:
    return None if math.isnan(number) else float(number)


def _number(value: Any) -> float:
    if value is None:
        return math.nan
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError
    return float(value)


def _days(value: Any) -> int | None:
    if value is not None and (type(value) is not int or value < 0):
        raise ValueError
    return value


def _field(name: str) -> str:
    if name not in BY_NAME:
        raise ValueError
    return name
