"""What can be said against one value: one bit each, and what is done about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntFlag, StrEnum


class Flag(IntFlag):
    """One bit a rule; a value may hold several."""

    OUT_OF_RANGE = 1 << 0
    CLIPPED = 1 << 1
    DEW_POINT_ABOVE_AIR = 1 << 2
    SPIKE = 1 << 3
    STEP = 1 << 4
    REWORKED = 1 << 5
    DISAGREES = 1 << 6
    STUCK = 1 << 7
    LONG_SAME = 1 << 8
    GUST_BELOW_MEAN = 1 << 9
    CALM_DIRECTION = 1 << 10
    DRY_AIR_RAIN = 1 << 11
    NIGHT_SUN = 1 << 12
    WITH_TEMPERATURE = 1 << 13
    FILLED = 1 << 14
    WORKED_OUT = 1 << 15


class Done(StrEnum):
    """What becomes of a value a rule speaks against."""

    REMOVED = "set to missing"
    CHANGED = "replaced"
    KEPT = "kept"
    FILLED = "filled"


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule in words, and why it is there."""

    flag: Flag
    words: str
    done: Done
    reason: str


RULES: tuple[Rule, ...] = (
    Rule(
        Flag.OUT_OF_RANGE,
        "outside the range of its quantity",
        Done.REMOVED,
        "a broken sensor, a missing-value code or a wrong unit",
    ),
    Rule(
        Flag.CLIPPED,
        "humidity over 100 %, or radiation a little under 0",
        Done.CHANGED,
        "the error of a sound sensor at the end of its scale",
    ),
    Rule(
        Flag.DEW_POINT_ABOVE_AIR,
        "dew point above the air temperature",
        Done.REMOVED,
        "air cannot hold it",
    ),
    Rule(
        Flag.SPIKE,
        "a jump that is undone the next hour",
        Done.REMOVED,
        "weather does not go and come back like that; a bad message does",
    ),
    Rule(
        Flag.STEP,
        "a jump that stays",
        Done.KEPT,
        "a cool change or a storm does this; so does a sensor that was moved",
    ),
    Rule(
        Flag.REWORKED,
        "humidity apart from temperature and dew point",
        Done.CHANGED,
        "airports measure the dew point and work humidity out from it",
    ),
    Rule(
        Flag.DISAGREES,
        "humidity far apart from temperature and dew point",
        Done.REMOVED,
        "one of the three is wrong and nothing says which",
    ),
    Rule(
        Flag.STUCK,
        "the same value for far too long",
        Done.REMOVED,
        "a frozen sensor or a logger that repeats itself",
    ),
    Rule(
        Flag.LONG_SAME,
        "the same value for long",
        Done.KEPT,
        "still, overcast air does this where values are rounded",
    ),
    Rule(
        Flag.GUST_BELOW_MEAN,
        "gust below the mean wind",
        Done.REMOVED,
        "the highest cannot be under the mean; the mean is marked and kept",
    ),
    Rule(
        Flag.CALM_DIRECTION,
        "a wind direction in a calm",
        Done.REMOVED,
        "a vane at rest points anywhere",
    ),
    Rule(
        Flag.DRY_AIR_RAIN,
        "rain from dry air under a clear or unknown sky",
        Done.KEPT,
        "a gauge being washed; kept, since rain can only speak against spraying",
    ),
    Rule(
        Flag.NIGHT_SUN,
        "sunshine in full night",
        Done.REMOVED,
        "the sensor or, if it happens often, the clock of the table is wrong",
    ),
    Rule(
        Flag.WITH_TEMPERATURE,
        "moisture of an hour whose temperature was removed",
        Done.REMOVED,
        "the two share a probe, or one was worked out from the other",
    ),
    Rule(
        Flag.FILLED,
        "a short gap drawn straight",
        Done.FILLED,
        "temperature, dew point and pressure move evenly over a few hours",
    ),
    Rule(
        Flag.WORKED_OUT,
        "missing, worked out from other values",
        Done.FILLED,
        "pressure from the elevation, humidity from the dew point",
    ),
)
"""Every rule, in the order of its bit."""

_BY_FLAG = {rule.flag: rule for rule in RULES}


def rule_of(flag: Flag) -> Rule:
    """The rule of one bit."""
    return _BY_FLAG[flag]


def done(flag: Flag, quantity: str) -> Done:
    """What became of a value of ``quantity`` that a rule spoke against."""
    if flag is Flag.GUST_BELOW_MEAN and quantity == "wind_speed":
        return Done.KEPT
    return _BY_FLAG[flag].done
