"""The program looks at the logs people write, and at what the law asks of records."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from own_farm import demo_copy
from spray_records import AT, HOUR, add, entry

from forecaster.domain.alerts.finding import Finding, State, exit_of
from forecaster.domain.record.log import Taken
from forecaster.service.selfcheck import running
from forecaster.service.selfcheck.subject import Subject

if TYPE_CHECKING:
    from pathlib import Path

FINISH = AT + 5 * HOUR
"""Of the job every entry tells of."""


def look(folder: Path, name: str, now: np.datetime64 = FINISH) -> Finding:
    """One check of a farm."""
    subject = Subject.of(folder, now, offline=True)
    (found,) = running.selfcheck(subject, [name])
    return found


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A copy of the demo, in Victoria, with three records, one withdrawn."""
    folder = demo_copy(tmp_path / "farm")
    add(folder / "records.jsonl", entry(1))
    add(folder / "records.jsonl", entry(2))
    (third,) = add(folder / "records.jsonl", entry(3))
    add(folder / "records.jsonl", Taken(0, "", third.hash, "J", "twice", AT))
    return folder


def test_sound_logs_are_well(farm: Path) -> None:
    """Those that are there are named; none is well, too."""
    found = look(farm, "log.read")
    assert (found.state, found.words) == (
        State.OK,
        "looks.jsonl, records.jsonl: every line",
    )
    assert look(farm, "rec.chain").words == "4 entries, every link holds"
    for name in ("looks.jsonl", "records.jsonl"):
        (farm / name).unlink()
    assert look(farm, "log.read").words == "no log yet"
    for name in ("rec.chain", "rec.law"):
        assert look(farm, name).state is State.OK


@pytest.mark.parametrize("name", ["looks.jsonl", "results.jsonl", "records.jsonl"])
def test_a_log_that_cannot_be_read_fails(farm: Path, name: str) -> None:
    """A folder in its place; a damaged line only warns, for the others stand."""
    path = farm / name
    whole = path.read_bytes() if path.exists() else b""
    path.write_bytes(whole + b"{}\n")
    found = look(farm, "log.read")
    assert found.state is State.WARN
    assert name in found.words
    assert "put a copy of it back; do not edit it" in found.remedy
    path.unlink()
    path.mkdir()
    found = look(farm, "log.read")
    assert (found.state, exit_of([found])) == (State.FAIL, 65)
    assert name in found.words
    if name == "records.jsonl":
        assert look(farm, "rec.chain").state is State.FAIL
        assert look(farm, "rec.law").state is State.SKIPPED


def test_a_broken_chain_names_its_first_line(farm: Path) -> None:
    """The second line taken out; the fourth, damaged and named so, is no failure."""
    path = farm / "records.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(lines[0] + b"".join(lines[2:]))
    found = look(farm, "rec.chain")
    assert (found.state, exit_of([found])) == (State.FAIL, 65)
    assert f"{path}: line 2 follows on" in found.words
    assert "1 entries before it" in found.words
    assert "put a copy of it back; do not edit it" in found.remedy
    path.write_bytes(b"".join(lines)[:-9])
    assert look(farm, "rec.chain").state is State.FAIL
    add(path, entry(5))
    found = look(farm, "rec.chain")
    assert found.state is State.OK
    assert "damaged and named so: line 4" in found.words


def test_records_of_another_farm_are_told(farm: Path) -> None:
    """They may have been copied here; they count."""
    add(farm / "records.jsonl", entry(4, farm="Wren Hollow"))
    found = look(farm, "rec.chain")
    assert found.state is State.WARN
    assert "another farm" in found.words


@pytest.mark.parametrize(
    ("hours", "state", "said"),
    [
        (23, State.OK, "none lacks"),
        (24.5, State.WARN, "deadline 23 h left: "),
        (47.9, State.WARN, "deadline less than 1 h left: "),
        (49, State.WARN, "deadline passed 1 h ago: "),
        (3 * 366 * 24, State.OK, "none lacks"),
    ],
)
def test_deadlines_of_records_that_lack_fields(
    farm: Path, hours: float, state: State, said: str
) -> None:
    """Victoria: 48 h, to be kept 2 years (Agriculture Victoria, AG1212)."""
    now = FINISH + np.timedelta64(round(hours * 3600), "s")
    found = look(farm, "rec.law", now)
    assert found.state is state
    assert said in found.words
    if state is State.WARN:
        assert "2 of 2 records lack fields by the law of Victoria" in found.words
        assert "Rate, as on the label; Crop or situation" in found.words
        assert len(found.more) == 2
        assert found.remedy.endswith("--correct 1 FIELD=VALUE")
        assert exit_of([found]) == 0


def test_where_no_deadline_is_known_it_is_said(tmp_path: Path) -> None:
    """No law was found for South Australia; of the Northern Territory no state."""
    first = demo_copy(tmp_path / "sa", ("[farm]\n", '[farm]\nstate = "sa"\n'))
    found = look(first, "rec.law")
    assert (found.state, "South Australia" in found.words) == (State.SKIPPED, True)
    second = demo_copy(tmp_path / "nt", ("Australia/Melbourne", "Australia/Darwin"))
    found = look(second, "rec.law")
    assert (found.state, "type state" in found.words) == (State.SKIPPED, True)
    (second / "farm.toml").write_text("x", encoding="utf-8")
    assert look(second, "rec.law").state is State.SKIPPED
    assert look(second, "rec.chain").state is State.OK
