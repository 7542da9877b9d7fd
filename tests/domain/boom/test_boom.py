"""Boom height, nozzles and tanks against extension publications and plain geometry.

All publications were seen in excerpt.
"""

from __future__ import annotations

import math

import pytest

from forecaster.domain.boom.flow import flow_of, speed_of, timed_speed, volume_of
from forecaster.domain.boom.height import height_for, overlap_at
from forecaster.domain.boom.label import HeightVerdict, LabelBoom, held_against
from forecaster.domain.boom.tank import product_in, tanks

US_GALLON = 3.785411784
"""[L] NIST Handbook 44, appendix C."""
ACRE = 0.40468564224
"""[ha] the international acre, by the same."""
MILE, INCH = 1.609344, 0.0254


def test_double_overlap_of_known_triangles() -> None:
    """90°: as high as the spacing. 120°: spacing / √3. A 3-4-5 triangle: 30 for 40."""
    assert height_for(0.5, 90.0) == pytest.approx(0.5)
    assert height_for(0.5, 120.0) == pytest.approx(0.5 / math.sqrt(3.0))
    angle = 2.0 * math.degrees(math.atan2(4.0, 3.0))
    assert height_for(40.0, angle) == pytest.approx(30.0)


def test_a_spray_drawn_as_rays_is_two_spacings_wide() -> None:
    """Shapely cuts the fan's triangle at the heads: another way to the same width.

    100 % overlap is a pattern two spacings wide at the target: T. Wolf, *Broadcast
    boom nozzle spacing*.
    """
    from shapely import LineString, Polygon
    from shapely.affinity import rotate

    spacing, angle = 0.5, 110.0
    height = height_for(spacing, angle)
    down = LineString([(0.0, 0.0), (0.0, -10.0)])
    left, right = (
        rotate(down, turn, origin=(0.0, 0.0)).coords[1] for turn in (-55.0, 55.0)
    )
    fan = Polygon([(0.0, 0.0), left, right])
    heads = LineString([(-10.0, -height), (10.0, -height)])
    assert fan.intersection(heads).length == pytest.approx(2.0 * spacing)


@pytest.mark.parametrize("angle", [65.0, 80.0, 110.0])
def test_overlap_is_the_way_back(angle: float) -> None:
    """Whatever width was asked for comes out at the height given."""
    for overlap in (1.0, 1.5, 2.0, 3.0):
        height = height_for(0.5, angle, overlap)
        assert overlap_at(height, 0.5, angle) == pytest.approx(overlap)


def test_alberta_s_worked_example() -> None:
    """40 L/acre at 9 km/h: a nozzle between 0.71 and 0.79 L/min is right.

    Alberta Agriculture, Agdex 606-1, p. 11. Its spacing is not in the excerpt: 20 in
    (0.508 m) is the trade's, from memory.
    """
    volume = 40.0 / ACRE
    assert 0.71 <= flow_of(volume, 9.0, 0.508) <= 0.79


def test_missouri_s_formula_in_its_own_units() -> None:
    """GPM = GPA × mph × inches ÷ 5940: University of Missouri Extension G1270A.

    5940 itself is rounded from 43,560 × 12 × 60 ÷ 5,280.
    """
    for gpa, mph, inches in ((20.0, 6.0, 20.0), (10.0, 8.0, 15.0), (30.0, 4.0, 30.0)):
        gallons = gpa * mph * inches / 5940.0
        found = flow_of(gpa * US_GALLON / ACRE, mph * MILE, inches * INCH)
        assert found / US_GALLON == pytest.approx(gallons, rel=1e-6)


def test_a_university_s_package_has_the_same_formula() -> None:
    """Q = Q × V × W ÷ 60,000 with the spacing in cm; its example Q 190, V 10, W 50.

    AgroTech 1.0.2 (State University of Londrina) on CRAN, flowrat.
    """
    assert flow_of(190.0, 10.0, 0.5) == pytest.approx(190.0 * 10.0 * 50.0 / 60_000.0)


def test_a_spacing_misread_by_eight_millimetres_is_1_6_per_cent() -> None:
    """GRDC, Spray application manual, module 8.3: 0.508 m taken for 0.500 m."""
    error = volume_of(1.0, 15.0, 0.5) / volume_of(1.0, 15.0, 0.508) - 1.0
    assert error == pytest.approx(0.016, abs=5e-4)


def test_the_three_formulas_are_one() -> None:
    """Each gives back what the others took."""
    flow = flow_of(100.0, 14.0, 0.5)
    assert volume_of(flow, 14.0, 0.5) == pytest.approx(100.0)
    assert speed_of(flow, 100.0, 0.5) == pytest.approx(14.0)


@pytest.mark.parametrize(
    ("speed", "minutes", "seconds"),
    [(7, 6, 48), (8, 6, 0), (9, 5, 20), (10, 4, 48), (11, 4, 22), (12, 4, 0)],
)
def test_alberta_s_table_of_times_for_800_m(
    speed: int, minutes: int, seconds: int
) -> None:
    """Agdex 606-1, p. 11; seven of the minute are 6:51 by our sum, 6:48 there."""
    found = timed_speed(800.0, 60.0 * minutes + seconds)
    assert found == pytest.approx(speed, rel=0.01)


def test_alberta_s_tank() -> None:
    """30 acres × 40 L/acre = 1,200 L, within one tank of 2,000 L (Agdex 606-1)."""
    found = tanks(30.0 * ACRE, 40.0 / ACRE, 2000.0)
    assert found.water == pytest.approx(1200.0)
    assert found.count == 1
    assert found.last == pytest.approx(1200.0)
    assert found.hectares == pytest.approx(50.0 * ACRE)


def test_a_handbook_s_mix() -> None:
    """3.5 acres at 15 gal/acre and 3 lb/acre: 52.5 gal and 10.5 lb.

    Agrochemical and pesticide safety handbook, example 4; units cancel.
    """
    found = tanks(3.5, 15.0, 100.0)
    assert found.water == pytest.approx(52.5)
    assert product_in(found.water, 15.0, 3.0) == pytest.approx(10.5)


def test_tanks_that_come_out_even_and_none_at_all() -> None:
    """50 ha at 100 L/ha fill two of 2,500 L; half a hectare more needs a third."""
    assert tanks(50.0, 100.0, 2500.0).count == 2
    assert tanks(50.0, 100.0, 2500.0).last == pytest.approx(2500.0)
    over = tanks(50.5, 100.0, 2500.0)
    assert over.count == 3
    assert over.last == pytest.approx(50.0)
    assert tanks(0.0, 100.0, 2500.0).last == 0.0


LABELS = [
    (LabelBoom(True, 0.5), 0.5, HeightVerdict.KEEPS),
    (LabelBoom(True, 0.5), 0.51, HeightVerdict.BREAKS),
    (LabelBoom(False, 0.5), 0.4, HeightVerdict.UNCONFIRMED),
    (LabelBoom(True, None), 0.4, HeightVerdict.NOT_TYPED),
    (LabelBoom(True, None, no_height=True), 0.4, HeightVerdict.NONE),
    (LabelBoom(False, None, no_height=True), 0.4, HeightVerdict.UNCONFIRMED),
]


@pytest.mark.parametrize(("label", "height", "verdict"), LABELS)
def test_a_height_is_held_against_a_confirmed_label_only(
    label: LabelBoom, height: float, verdict: HeightVerdict
) -> None:
    """What nobody confirmed can neither keep nor break."""
    assert held_against(height, label) is verdict


def test_a_rate_counts_once_confirmed() -> None:
    """Unconfirmed, it is not there."""
    assert LabelBoom(False, rate=1.0, unit="L").product is None
    assert LabelBoom(True, rate=1.0, unit="L").product == (1.0, "L")
    assert LabelBoom(True).product is None


def test_80_degree_fans_at_double_overlap_break_half_a_metre() -> None:
    """59.6 cm at 80°, 35.0 cm at 110° (tangents of 40° and 55° from tables)."""
    assert height_for(0.5, 80.0) == pytest.approx(0.5 / 0.8391, abs=1e-4)
    assert height_for(0.5, 110.0) == pytest.approx(0.5 / 1.4281, abs=1e-4)
