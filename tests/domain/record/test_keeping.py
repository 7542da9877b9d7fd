"""How long topped feed keeps, with the rain since and ahead."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from forecaster.domain.record.after import AfterNumbers
from forecaster.domain.record.keeping import (
    RainAfter,
    Soaked,
    keeping,
    rain_after,
    topped_at,
)
from forecaster.domain.sourced import Mark, Sourced

HOUR = np.timedelta64(3600, "s")
START = np.datetime64("2026-10-14T00:00", "s")
TIME = START + np.arange(24 * 20) * HOUR
LATE = TIME[-1] + HOUR


def number(value: float, unit: str = "d") -> Sourced:
    """A number of the test's own."""
    return Sourced(value, unit, value, value, "none", "none", Mark.ASSUMED)


NUMBERS = AfterNumbers(
    second_look=(number(14), number(21)),
    held=(number(28), number(42)),
    soaking_rain=number(25, "mm"),
    soaking_within=number(3),
    held_after_soaking=number(7),
    topping_month=number(8, "month"),
)


def day_of(moment: np.datetime64) -> np.datetime64:
    """On the clock of Greenwich."""
    day: np.datetime64 = moment.astype("datetime64[D]")
    return day


def rain(**fell: float) -> np.ndarray:
    """Rain by hour number, ``h12=5.0``; the rest is dry."""
    found = np.zeros(TIME.size)
    for name, mm in fell.items():
        found[int(name[1:])] = mm
    return found


def test_a_soaking_is_full_in_the_hour_that_makes_it() -> None:
    """12 mm and 13 mm two days apart are 25 mm; ahead of now it is a forecast."""
    fell = rain(h30=12.0, h78=13.0)
    told = rain_after(TIME, fell, START, LATE, NUMBERS)
    assert told == RainAfter(Soaked.FELL, TIME[78], 25.0, 0)
    ahead = rain_after(TIME, fell, START, TIME[78], NUMBERS)
    assert ahead == RainAfter(Soaked.AHEAD, TIME[78], 12.0, 0)


@pytest.mark.parametrize(
    "fell",
    [rain(h30=12.0, h102=13.0), rain(h30=24.9), rain()],
    ids=["three days and an hour", "a little less", "dry"],
)
def test_less_or_longer_is_no_soaking(fell: np.ndarray) -> None:
    """24 h × 3 apart, the first hour lies outside; so does less than 25 mm."""
    assert rain_after(TIME, fell, START, LATE, NUMBERS).soaked is Soaked.NO


def test_rain_before_the_finish_does_not_count() -> None:
    """The hour in which the spray ended counts whole; those before do not."""
    fell = rain(h10=25.0)
    inside = rain_after(TIME, fell, TIME[10] + HOUR / 2, LATE, NUMBERS)
    assert inside.soaked is Soaked.FELL
    after = rain_after(TIME, fell, TIME[11], LATE, NUMBERS)
    assert (after.soaked, after.fallen) == (Soaked.NO, 0.0)


def test_unknown_hours_are_gaps_and_never_dry_for_certain() -> None:
    """NaN, hours before the table begins and after it ends are counted, up to now."""
    fell = rain(h30=12.0)
    fell[[40, 41]] = np.nan
    assert rain_after(TIME, fell, START, TIME[60], NUMBERS).gaps == 2
    assert rain_after(TIME, fell, START - 5 * HOUR, TIME[60], NUMBERS).gaps == 7
    assert rain_after(TIME, fell, START, LATE + 3 * HOUR, NUMBERS).gaps == 5
    assert rain_after(TIME, fell, TIME[50], TIME[45], NUMBERS).gaps == 0


@pytest.mark.parametrize("seed", range(20))
def test_the_first_soaking_against_pandas(seed: int) -> None:
    """Rolling sums of 72 hours by pandas give the same first hour, or none."""
    random = np.random.default_rng(seed)
    wet = random.random(TIME.size) < 0.06
    fell = np.where(wet, random.gamma(0.8, 4.0, TIME.size).round(1), 0.0)
    sums = pd.Series(fell).rolling(72, min_periods=1).sum().round(6)
    full = np.flatnonzero(sums.to_numpy() >= 25.0)
    told = rain_after(TIME, fell, START, LATE, NUMBERS)
    assert told.at == (TIME[full[0]] if full.size else None)


def test_dry_it_keeps_weeks_and_soaked_a_week_at_most() -> None:
    """Days by the calendar; a soaking never makes it keep longer."""
    sprayed = np.datetime64("2026-10-14", "D")

    def held(soaked: Soaked, at: str | None) -> list[str]:
        moment = None if at is None else np.datetime64(at, "s")
        told = keeping(sprayed, RainAfter(soaked, moment, 0.0, 0), NUMBERS, day_of)
        return [str(each) for each in told.held]

    assert held(Soaked.NO, None) == ["2026-11-11", "2026-11-25"]
    assert held(Soaked.FELL, "2026-10-20T05:00") == ["2026-10-27", "2026-10-27"]
    assert held(Soaked.AHEAD, "2026-11-14T05:00") == ["2026-11-11", "2026-11-21"]
    assert held(Soaked.FELL, "2026-12-24T05:00") == ["2026-11-11", "2026-11-25"]


def test_a_second_pass_makes_no_dead_feed_fresh() -> None:
    """Feed is counted from the first of those within the days it keeps (assumed)."""
    first = START
    second = first + 42 * 24 * HOUR
    assert topped_at((first, second), NUMBERS) == first
    assert topped_at((second, first), NUMBERS) == first
    late = second + np.timedelta64(1, "s")
    assert topped_at((first, late), NUMBERS) == late
    assert topped_at((second,), NUMBERS) == second
