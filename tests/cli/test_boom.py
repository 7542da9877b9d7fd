"""``forecaster boom`` as a user meets it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from own_farm import demo_copy

from forecaster.cli.main import exit_code

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("no_farm_here")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Standard output of a run that must succeed, on one line."""
    assert exit_code(["boom", *arguments]) == 0
    return " ".join(capsys.readouterr().out.split())


def labelled(tmp_path: Path, lines: str) -> str:
    """The demo farm with ``lines`` in its label of glyphosate."""
    head = "[labels.glyphosate]\n"
    return str(demo_copy(tmp_path / "farm", (head, f"{head}{lines}\n")))


def test_height_at_the_heads_and_above_ground(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """110° at 50 cm: 35 cm over the heads (50 / tan 55°), 95 over ground with 60 cm."""
    printed = run(capsys, "--spacing", "50", "--angle", "110", "--heads", "60")
    assert "35 cm above the heads" in printed
    assert "95 cm above the ground" in printed
    assert "give --heads" in run(capsys, "--spacing", "50", "--angle", "110")


def test_a_label_s_height_is_kept_or_broken(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Half a metre typed and confirmed: 80° fans break it, 110° fans keep it."""
    farm = labelled(tmp_path, "boom_height_max_m = 0.5")
    asked = ("--spacing", "50", "--active", "glyphosate", "--farm", farm, "--angle")
    assert "BREAKS THE LABEL" in run(capsys, *asked, "80")
    assert "within the label" in run(capsys, *asked, "110")
    bare = run(capsys, "--spacing", "50", "--active", "paraquat", "--angle", "110")
    assert "label height not typed" in bare


def test_a_nozzle_from_any_two(capsys: pytest.CaptureFixture[str]) -> None:
    """100 L/ha × 14 km/h × 0.5 m ÷ 600 = 1.1667 L/min, by hand, three ways."""
    for two, found in (
        (("--volume", "100", "--speed", "14"), "flow"),
        (("--flow", "1.1666667", "--speed", "14"), "volume"),
        (("--flow", "1.1666667", "--volume", "100"), "speed"),
    ):
        printed = run(capsys, "--spacing", "50", *two)
        assert "1.17 L/min = 100 L/ha x 14.0 km/h x 0.5 m / 600" in printed
        tree = json.loads(run(capsys, "--spacing", "50", *two, "--format", "json"))
        assert tree["nozzle"]["found"] == found


TANKS = ("House", "--spacing", "50", "--volume", "100", "--tank", "1000")


def test_tanks_and_product_of_the_user_s_own_rate(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """18 ha × 100 L/ha: 1,000 and 800 L; an invented 0.4 L/ha is 4.00 and 3.20 L."""
    printed = run(capsys, *TANKS)
    assert "18 ha take 1,800 L: 2 tanks, the last one 800 L" in printed
    assert "not told: needs the rate typed" in printed
    farm = labelled(tmp_path, 'product_per_hectare = 0.4\nproduct_unit = "L"')
    asked = (*TANKS, "--active", "glyphosate", "--farm", farm)
    assert "4.00 L in a full tank, 3.20 L in the last" in run(capsys, *asked)
    one = (*asked[:-2], "--hectares", "5", "--farm", farm)
    assert "product 2.00 L, by the rate you typed" in run(capsys, *one)
    tree: Any = json.loads(run(capsys, *asked, "--format", "json"))
    assert tree["tanks"]["product_in_a_full_one"] == pytest.approx(4.0)


def test_no_rate_without_a_label(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing the program ships holds a rate."""
    for active in ("glyphosate", "paraquat"):
        tree = json.loads(run(capsys, *TANKS, "--active", active, "--format", "json"))
        assert tree["tanks"]["product_in_a_full_one"] is None


WRONG = [
    (("--spacing", "50"), "nothing to work out"),
    (("--spacing", "5", "--angle", "110"), "--spacing 5: allowed is 10 to 150 cm"),
    (("--spacing", "50", "--angle", "nan"), "--angle nan: allowed is"),
    (("--spacing", "50", "--heads", "60"), "--heads needs --angle"),
    (("--spacing", "50", "--speed", "9"), "give two of them"),
    (
        ("--spacing", "50", "--speed", "9", "--volume", "90", "--flow", "1"),
        "give two of them",
    ),
    (("--spacing", "50", "--tank", "900"), "--tank needs the litres"),
    (("--spacing", "50", "--angle", "80", "--active", "salt"), "known are"),
    (("Hous", "--spacing", "50", "--angle", "80"), "did you mean House?"),
]


@pytest.mark.parametrize(("arguments", "said"), WRONG)
def test_a_wrong_command_line_is_one_clear_error(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    """Exit code 64, and nothing on standard output."""
    assert exit_code(["boom", *arguments]) == 64
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


def test_a_rate_without_its_unit_is_a_fault(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Both or neither."""
    farm = labelled(tmp_path, "product_per_hectare = 0.4")
    assert exit_code(["boom", *TANKS, "--farm", farm]) == 78
    assert "go together" in capsys.readouterr().err
