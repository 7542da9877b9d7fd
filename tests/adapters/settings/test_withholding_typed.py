"""Days for stock, as typed from a label: whole, confirmed, or no date at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from own_farm import demo_copy

from forecaster.domain.planning.withholding import LabelSays, Withholding
from forecaster.errors import SettingsError
from forecaster.settings.farm import Farm, load_farm

if TYPE_CHECKING:
    from pathlib import Path

TYPED = "grazing_withholding_days = 7"


def farm(tmp_path: Path, *pairs: tuple[str, str]) -> Farm:
    """The demo farm with parts of its file changed."""
    return load_farm(demo_copy(tmp_path / "farm", *pairs))


@pytest.mark.parametrize(
    ("typed", "held"),
    [
        (TYPED, Withholding(LabelSays.DAYS, 7)),
        ("grazing_withholding_days = 0", Withholding(LabelSays.DAYS, 0)),
        ('grazing_withholding_days = "not on label"', Withholding(LabelSays.NONE)),
        ("", Withholding(LabelSays.UNREAD)),
    ],
)
def test_what_is_typed_is_held(tmp_path: Path, typed: str, held: Withholding) -> None:
    """And it is among no limit of an hour."""
    found = farm(tmp_path, (TYPED, typed))
    assert found.labels["glyphosate"].withholding == held
    assert "grazing_withholding_days" not in found.labels["glyphosate"].numbers


def test_an_unconfirmed_number_gives_no_date(tmp_path: Path) -> None:
    """As with every number of a label."""
    found = farm(tmp_path, ("\nconfirmed = true", "\nconfirmed = false"))
    assert found.labels["glyphosate"].withholding.says is LabelSays.UNCONFIRMED
    assert found.labels["glyphosate"].withholding.days is None


@pytest.mark.parametrize("typed", ["-1", "366", "1.5", "true", '"seven"', "7.0"])
def test_what_is_no_number_of_days_is_refused(tmp_path: Path, typed: str) -> None:
    """At its place, with what is allowed."""
    with pytest.raises(SettingsError) as caught:
        farm(tmp_path, (TYPED, f"grazing_withholding_days = {typed}"))
    (fault,) = caught.value.faults
    assert "allowed is a whole number of days from 0 to 365" in fault.message
    assert fault.line > 1
