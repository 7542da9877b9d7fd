"""What each state wants in a record, as its published pages say."""

from __future__ import annotations

import re
import zoneinfo
from typing import TYPE_CHECKING

import pytest

from forecaster.errors import SettingsError
from forecaster.settings.record_rules import (
    STATES,
    ZONES,
    after_numbers,
    read_rules,
    rules_of,
    state_of,
)
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from pathlib import Path

FOUND = {"vic": (48, 2), "nsw": (48, 3), "wa": (7 * 24, 2), "qld": (48, 2)}
"""[h], [years]: Agriculture Victoria, AG1212; NSW EPA, Keeping records of pesticide
use; DPIRD WA, Record keeping for farm pesticide application (7 days, 2 years); Business
Queensland, Keeping records of agricultural chemical applications (2 days, 2 years).
Seen in excerpt."""
LAW = {
    # Agriculture Victoria, AG1212, seen in excerpt: trade name, date, rate, crop, area,
    # place, who sprayed, for whom, wind speed and direction outdoors.
    "vic": {
        "product", "start", "rate", "situation", "hectares", "place", "operator",
        "operator_contact", "supervisor", "applied_for", "applied_for_contact",
        "wind_speed", "wind_from",
    },
    # NSW Pesticides Regulation 2017, clause 36, seen in excerpt: quantity, too, wind at
    # the start and at changes, other weather where the label makes it relevant.
    "nsw": {
        "product", "start", "rate", "quantity", "situation", "hectares", "place",
        "operator", "operator_contact", "applied_for", "applied_for_contact", "method",
        "wind_speed", "wind_from", "wind_changes",
        "temperature_c", "humidity_pct", "rain",
    },
    # DPIRD WA, Record keeping for farm pesticide application, seen in excerpt: date and
    # time, who sprayed and for whom with contacts, place, product, method, rate, crop.
    "wa": {
        "start", "operator", "operator_contact", "applied_for", "applied_for_contact",
        "place", "product", "method", "rate", "situation",
    },
}  # fmt: skip


def test_every_state_has_a_file_and_no_file_is_left_over() -> None:
    """Six states of southern Australia and Queensland."""
    files = {path.stem for path in (config_folder() / "records").glob("*.toml")}
    assert files == set(STATES)
    assert rules_of(None) is None


@pytest.mark.parametrize("state", STATES)
def test_fields_deadline_and_years_of_each_state(state: str) -> None:
    """As published, or not found; advice is the same set everywhere, each sourced."""
    rules = read_rules(config_folder() / "records" / f"{state}.toml")
    law = {each.name for each in rules.needed if each.rank == "law"}
    assert law == LAW.get(state, set())
    limits = FOUND.get(state, (None, None))
    assert (rules.deadline.value if rules.deadline else None) == limits[0]
    assert (rules.keep.value if rules.keep else None) == limits[1]
    names = [each.name for each in rules.needed]
    assert len(names) == len(set(names))
    assert {"finish", "weed", "stage", "nozzle", "droplets", "boom_height_m"} <= set(
        names
    )
    assert all(each.source and each.page for each in rules.needed)


def test_the_state_is_typed_or_told_by_the_zone() -> None:
    """Broken Hill lies in New South Wales; Canberra and Darwin lie in none of these."""
    assert state_of("Australia/Broken_Hill", None) == "nsw"
    assert state_of("Australia/Melbourne", "nsw") == "nsw"
    assert state_of("Australia/Darwin", None) is None
    assert state_of("Australia/Canberra", None) is None
    assert set(ZONES) <= zoneinfo.available_timezones()


def test_days_of_what_comes_after() -> None:
    """Second look 14 to 21 days, feed four to six weeks (common practice; assumed)."""
    numbers = after_numbers()
    assert [each.value for each in numbers.second_look] == [14, 21]
    assert [each.value for each in numbers.held] == [28, 42]


def test_a_wrong_file_is_told_with_its_place(tmp_path: Path) -> None:
    """An unknown field and a wrong unit, both at once."""
    text = (config_folder() / "records" / "vic.toml").read_text(encoding="utf-8")
    text = text.replace('"product"', '"products"', 1)
    text = re.sub(r'(deadline_hours = .*?)unit = "h"', r'\1unit = "d"', text)
    path = tmp_path / "vic.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        read_rules(path)
    told = str(caught.value)
    assert "did you mean product" in told
    assert 'must be "h"' in told
    assert f"{path}:" in told
