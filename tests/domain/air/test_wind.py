"""Wind against FAO-56, a crop-model library and plain geometry."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from forecaster.domain.air.wind import (
    GRASS_ROUGHNESS,
    compass_word,
    downwind_bearing,
    exposed_directions,
    exposure,
    speed_at_height,
)


def test_published_heights(check_values: Any) -> None:
    """FAO-56's example and factors come out of the same law over clipped grass."""
    for check in check_values("air_wind_height"):
        assert check.agrees(speed_at_height(**check.numbers())), check.label


@pytest.mark.usefixtures("pcse")
def test_crop_model_library() -> None:
    """PCSE's 10 m to 2 m conversion, at its roughness of 0.033 m, is met."""
    from pcse.util import wind10to2

    speed = np.array([0.0, 1.0, 5.5, 12.0])
    ours = speed_at_height(speed, 10.0, 2.0, 0.033)
    assert ours == pytest.approx([wind10to2(each) for each in speed])


@pytest.mark.parametrize("roughness", [0.03, 0.10, 0.25])
def test_published_roughness_classes(roughness: float) -> None:
    """For each class the profile's exponent is 1/ln(z/z0), as wind atlases state."""
    ratio = speed_at_height(1.0, 10.0, 10.1, roughness)
    exponent = np.log(ratio) / math.log(10.1 / 10.0)
    assert exponent == pytest.approx(1.0 / math.log(10.05 / roughness), rel=0.001)


def test_grass_is_the_default() -> None:
    """Without a roughness the ground is the published open flat grass, 0.03 m."""
    assert speed_at_height(5.0, 10.0, 2.0) == speed_at_height(5.0, 10.0, 2.0, 0.03)
    assert GRASS_ROUGHNESS == 0.03


@pytest.mark.parametrize(
    ("heights", "roughness"), [((10.0, 0.02), 0.03), ((0.01, 2.0), 0.03), ((9, 2), 0.0)]
)
def test_heights_inside_the_roughness(
    heights: tuple[float, float], roughness: float
) -> None:
    """A height the law does not reach is refused."""
    with pytest.raises(ValueError, match="roughness"):
        speed_at_height(5.0, *heights, roughness)


def test_downwind_is_the_other_way() -> None:
    """A northerly blows south; the bearing stays under 360°; unknown stays unknown."""
    got = downwind_bearing([0.0, 180.0, 270.0, 359.0, 360.0, np.nan])
    assert got[:5].tolist() == [180.0, 0.0, 90.0, 179.0, 180.0]
    assert np.isnan(got[5])


@pytest.mark.parametrize(
    ("bearing", "word"),
    [
        (0.0, "north"),
        (11.2, "north"),
        (11.3, "north-north-east"),
        (45.0, "north-east"),
        (90.0, "east"),
        (157.5, "south-south-east"),
        (225.0, "south-west"),
        (292.5, "west-north-west"),
        (348.7, "north-north-west"),
        (348.8, "north"),
        (360.0, "north"),
        (-90.0, "west"),
        (math.nan, "unknown"),
    ],
)
def test_compass_words(bearing: float, word: str) -> None:
    """Each point spans 22.5° about its bearing (the mariner's compass rose)."""
    assert compass_word(bearing) == word


def test_compass_of_a_library() -> None:
    """Every whole degree off a boundary gets the point MetPy gives it."""
    import metpy.calc
    from metpy.units import units

    names = {"north": "N", "south": "S", "east": "E", "west": "W"}
    degrees = np.arange(360.0)
    theirs = metpy.calc.angle_to_direction(units.Quantity(degrees, "degree"))
    for degree, code in zip(degrees, theirs, strict=True):
        ours = "".join(names[part] for part in compass_word(float(degree)).split("-"))
        assert ours == code, degree


def test_a_neighbour_to_the_east() -> None:
    """Westerlies within 45° carry drift east; other winds do not; the edge counts."""
    exposed = exposed_directions([90.0], 45.0)
    assert exposed.shape == (360,)
    assert np.flatnonzero(exposed).tolist() == list(range(225, 316))


def test_a_neighbour_across_north() -> None:
    """A spread of bearings across north joins up on the southerly side."""
    exposed = exposed_directions([350.0, 10.0], 20.0)
    assert np.flatnonzero(exposed).tolist() == list(range(150, 211))


def test_no_neighbour_and_all_round() -> None:
    """Nothing near exposes nothing; a half circle exposes every side."""
    assert not exposed_directions([], 45.0).any()
    assert exposed_directions([33.0], 180.0).all()


@pytest.mark.parametrize(
    ("bearings", "half_angle"),
    [([np.nan], 45.0), ([np.inf], 45.0), ([0.0], -1.0), ([0.0], 181.0), ([0], np.nan)],
)
def test_unknown_place_is_refused(bearings: list[float], half_angle: float) -> None:
    """A place or angle that is not known must not pass as harmless."""
    with pytest.raises(ValueError, match=r"bearing|half_angle"):
        exposed_directions(bearings, half_angle)


def test_exposure_of_hours() -> None:
    """The nearest whole degree decides, 360 is 0, and a missing side is unknown."""
    exposed = np.zeros(360, dtype=bool)
    exposed[[0, 270]] = True
    got = exposure([[0.0, 360.0, 359.6], [270.4, 271.0, np.nan]], exposed)
    assert got[0].tolist() == [1.0, 1.0, 1.0]
    assert got[1, :2].tolist() == [1.0, 0.0]
    assert np.isnan(got[1, 2])
