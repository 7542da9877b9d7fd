"""Hours a paddock needs: field capacity by published tables, fills by a record run."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecaster.domain.rig.work_rate import (
    Rig,
    capacity,
    fills,
    hours_needed,
    parts_of,
)

FOOT = 0.3048
"""[m] international foot, by definition (from memory: 1959 agreement)."""
MILE = 1609.344
"""[m] international mile, likewise."""
ACRE = 4046.8564224 / 10_000
"""[ha] international acre, likewise."""


def rig(width: float, kmh: float, share: float, **more: float) -> Rig:
    """A rig by its kilometres an hour."""
    tank, volume = more.get("tank", 2500.0), more.get("volume", 100.0)
    fill, move = more.get("fill", 0.0), more.get("move", 0.0)
    return Rig("rig", width, kmh / 3.6, share, tank, volume, fill / 60, move / 60)


@pytest.mark.parametrize(
    ("feet", "mph", "per_cent", "acres"),
    [
        (40, 6, 70, 20.4),
        (60, 6, 68, 29.7),
        (60, 12, 68, 59.3),
        (80, 6, 68, 39.6),
        (80, 12, 68, 79.1),
        (15, 5, 63, 5.7),
        (20, 6, 63, 9.2),
        (30, 6, 60, 13.1),
        (36, 5, 60, 13.1),
        (45, 5, 60, 16.4),
    ],
)
def test_field_capacity_by_a_published_table(
    feet: float, mph: float, per_cent: float, acres: float
) -> None:
    """Iowa State University Extension, Ag Decision Maker A3-24, table 1 [acres/h].

    Rows of spreaders, which cover ground in swaths as a boom does; read in a copy on
    studylib.net. The formula is that of ASABE EP496: speed × width × efficiency.
    Printed to a tenth: half of it, and 0.03 for their 8.25 in place of 43,560/5,280.
    """
    one = rig(feet * FOOT, mph * MILE / 1000, per_cent / 100)
    assert capacity(one) / ACRE == pytest.approx(acres, abs=0.05 + 0.03)


def test_a_day_long_record_comes_out() -> None:
    """2,638 ha in 24 h at Perenjori, Western Australia, March 2017.

    Farm press (fwi.co.uk, "Spraying records smashed on Australian farm"; profi.co.uk):
    48 m at nearly 25 km/h, 105,520 L from a tank of 8,000 L, "13 and a bit" fills of
    11 minutes stopped. The speed is an average over turns, so the efficiency is 1; ten
    minutes of road once. "Nearly 25" is worth 4 %.
    """
    one = rig(48, 25, 1.0, tank=8000, volume=105_520 / 2638, fill=11, move=10)
    assert fills(one, 2638) == 14
    assert hours_needed(one, 2638) == pytest.approx(24, rel=0.04)


@pytest.mark.parametrize(
    ("hectares", "hours"),
    [(34, 2.88), (26, 2.46), (41, 3.25), (29, 2.62), (55, 4.41)],
)
def test_the_demo_rig(hectares: float, hours: float) -> None:
    """Arithmetic, no source: A/18.9 + tanks of 25 ha × 25 min + 15 min, by hand."""
    one = rig(18, 14, 0.75, fill=25, move=15)
    assert capacity(one) == pytest.approx(18.9)
    assert hours_needed(one, hectares) == pytest.approx(hours, abs=0.005)


@pytest.mark.parametrize(
    ("one", "rate", "forty"),
    [
        (rig(12, 12, 0.75, tank=1000, volume=80, fill=30, move=15), 10.8, 5.95),
        (rig(18, 14, 0.75, tank=2500, volume=100, fill=25, move=15), 18.9, 3.20),
        (rig(24, 18, 0.75, tank=4000, volume=80, fill=25, move=15), 32.4, 1.90),
        (rig(36, 22, 0.70, tank=6000, volume=70, fill=15, move=15), 55.4, 1.22),
    ],
    ids=["12 m", "18 m", "24 m", "36 m"],
)
def test_usual_rigs(one: Rig, rate: float, forty: float) -> None:
    """Arithmetic on common sizes, no source: ha/h, hours for 40 ha."""
    assert capacity(one) == pytest.approx(rate, abs=0.05)
    assert hours_needed(one, 40) == pytest.approx(forty, abs=0.005)


def test_just_so_many_tanks_need_no_other() -> None:
    """25 ha at 100 L/ha is 2,500 L: one tank, though 0.1 × 3 ≠ 0.3 inside."""
    one = rig(18, 14, 0.75)
    assert [fills(one, each) for each in (1, 25, 25.01, 50, 75)] == [1, 1, 2, 2, 3]
    tenths = rig(18, 14, 0.75, tank=0.3, volume=0.1)
    assert fills(tenths, 3) == 1
    assert math.isnan(hours_needed(one, math.nan))


@given(st.floats(0.01, 500), st.floats(1, 100))
def test_parts_are_equal_and_small_enough(hectares: float, largest: float) -> None:
    """They add up to the paddock, and one fewer would be too large."""
    count, each = parts_of(hectares, largest)
    assert count * each == pytest.approx(hectares)
    assert each <= largest * (1 + 1e-6)
    assert count == 1 or hectares / (count - 1) > largest * (1 - 1e-6)


def test_without_a_limit_a_paddock_stays_whole() -> None:
    """0 is no limit; an unknown area stays unknown."""
    assert parts_of(200, 0) == (1, 200)
    count, each = parts_of(np.nan, 60)
    assert (count, math.isnan(each)) == (1, True)
