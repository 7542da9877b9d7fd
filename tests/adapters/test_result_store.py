"""The log of results: what is kept comes back, and what is damaged costs itself."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hostile_names import HOSTILE
from hypothesis import given, settings
from hypothesis import strategies as st

from forecaster.domain.result.result_log import ResultEntry
from forecaster.domain.withdrawal import Withdrawal
from forecaster.errors import UsageError
from forecaster.settings.names import name_fault, text_fault
from forecaster.settings.stage_words import CLASSES
from forecaster.store.result_lines import result_line, result_of, withdrawn_line
from forecaster.store.results import add_result, read_results, withdraw_result
from forecaster.store.sealed_line import UnreadableLine, sealed_line

if TYPE_CHECKING:
    from pathlib import Path

WHEN = np.datetime64("2026-06-02T01:02:03", "s")
NAMES = st.text(min_size=1, max_size=80).filter(lambda text: name_fault(text) is None)
COUNTS = st.lists(st.integers(0, 100_000), min_size=1, max_size=30).map(tuple)
ENTRIES = st.builds(
    ResultEntry,
    paddock=NAMES,
    weed=NAMES,
    year=st.integers(1960, 2200),
    active=st.none() | NAMES,
    stage=st.none() | st.sampled_from(sorted(CLASSES)),
    side_cm=st.floats(5.0, 500.0),
    treated=COUNTS,
    untreated=COUNTS,
    recorded=st.integers(0, 4_102_444_800).map(lambda s: np.datetime64(s, "s")),
)


def entry(paddock: str = "Creek Flat", **more: Any) -> ResultEntry:
    """One result."""
    values: dict[str, Any] = {
        "weed": "silver_grass", "year": 2025, "active": "paraquat",
        "stage": "flowering", "side_cm": 25.0, "treated": (3, 0), "untreated": (41, 38),
        "recorded": np.datetime64("2026-06-01T01:02:03", "s"),
    }  # fmt: skip
    return ResultEntry(paddock, **(values | more))


@settings(max_examples=80)
@given(ENTRIES)
def test_whatever_is_kept_comes_back(kept: ResultEntry) -> None:
    """One line without an end in it."""
    line = result_line(kept)
    assert b"\n" not in line
    assert result_of(line) == kept


@settings(max_examples=40)
@given(NAMES, st.text(max_size=200).filter(lambda text: text_fault(text) is None))
def test_whatever_is_taken_back_comes_back(author: str, reason: str) -> None:
    """A withdrawal likewise."""
    gone = Withdrawal("0123456789abcdef", author, reason, WHEN)
    line = withdrawn_line(gone)
    assert b"\n" not in line
    assert result_of(line) == gone


def test_a_withdrawal_is_a_line_of_its_own(tmp_path: Path) -> None:
    """The first result counts no more; every byte before it stays as it was."""
    path = tmp_path / "results.jsonl"
    for year in (2024, 2025):
        add_result(path, entry(year=year))
    before = path.read_bytes()
    gone = withdraw_result(path, 1, author="J", reason="wrong paddock", now=WHEN)
    assert path.read_bytes().startswith(before)
    assert path.read_bytes().count(b"\n") == 3
    log = read_results(path)
    assert log.kept[0] == gone
    assert [each.year for each in log.entries] == [2024, 2025]
    assert [each.year for each in log.standing] == [2025]
    add_result(path, entry(year=2023))
    assert [each.number for each in read_results(path).kept] == [1, 2, 4]


@pytest.mark.parametrize(("number", "said"), [
    (1, "result 1 was withdrawn already, by J: wrong paddock"),
    (2, "no result has the number 2"), (3, "no result has the number 3"),
    (0, "no result has the number 0"), (-1, "no result has the number -1"),
])  # fmt: skip
def test_what_cannot_be_withdrawn_leaves_the_log_alone(
    tmp_path: Path, number: int, said: str
) -> None:
    """Twice, the withdrawal itself, and lines there are not."""
    path = tmp_path / "results.jsonl"
    add_result(path, entry())
    withdraw_result(path, 1, author="J", reason="wrong paddock", now=WHEN)
    before = path.read_bytes()
    with pytest.raises(UsageError, match=said):
        withdraw_result(path, number, author="K", reason="again", now=WHEN)
    assert path.read_bytes() == before


def test_a_withdrawal_of_a_damaged_result_is_told(tmp_path: Path) -> None:
    """The result is told by its line, what took it back by the sum it names."""
    path = tmp_path / "results.jsonl"
    add_result(path, entry())
    gone = withdraw_result(path, 1, author="J", reason="x", now=WHEN)
    path.write_bytes(path.read_bytes().replace(b"41", b"42", 1))
    log = read_results(path)
    assert log.kept == ()
    assert "line 1 cannot be read" in log.warnings[0]
    assert gone.checksum in log.warnings[1]


@pytest.mark.parametrize(
    "change",
    [
        {"result": "0123"}, {"result": 3}, {"author": ""}, {"reason": None},
        {"recorded": "now"},
    ],
)  # fmt: skip
def test_a_strange_withdrawal_is_not_read(change: dict[str, Any]) -> None:
    """Its checksum is sound, its values are not."""
    fields = json.loads(withdrawn_line(Withdrawal("0" * 16, "J", "x", WHEN)))
    del fields["sum"]
    with pytest.raises(UnreadableLine):
        result_of(sealed_line(fields | change))


def test_names_that_are_only_text_come_back(tmp_path: Path) -> None:
    """Forty hostile names, in order."""
    path = tmp_path / "results.jsonl"
    for name in HOSTILE:
        add_result(path, entry(name))
    log = read_results(path)
    assert [each.paddock for each in log.entries] == list(HOSTILE)
    assert log.warnings == ()


def test_a_damaged_line_costs_only_itself(tmp_path: Path) -> None:
    """Cut, changed and strange lines are told by number."""
    path = tmp_path / "results.jsonl"
    line = result_line(entry())
    strange = sealed_line({"format": 1, "kind": "poem"})
    content = [line, line[:-9], line.replace(b"41", b"42"), strange, line]
    path.write_bytes(b"\n".join(content))
    log = read_results(path)
    assert len(log.entries) == 2
    assert "lines 2, 3 cannot be read" in log.warnings[0]
    assert "line 4: written by another version" in log.warnings[1]
    assert read_results(tmp_path / "none.jsonl").entries == ()


@pytest.mark.parametrize(
    "change",
    [
        {"paddock": ""}, {"paddock": 3}, {"year": 1066}, {"year": 2025.0},
        {"side_cm": 0}, {"side_cm": True},
        {"treated": []}, {"treated": 3}, {"treated": [-1]},
        {"untreated": [True]}, {"stage": "blossom"}, {"stage": []}, {"active": ""},
        {"recorded": "2026-06-01"}, {"recorded": 5},
        {"recorded": "2026-99-01T01:02:03Z"},
        {"more": 1},
    ],
)  # fmt: skip
def test_a_line_with_a_sound_sum_and_nonsense_is_not_read(
    change: dict[str, Any],
) -> None:
    """The checksum is no proof of sense."""
    fields = json.loads(result_line(entry()))
    del fields["sum"]
    with pytest.raises(UnreadableLine):
        result_of(sealed_line(fields | change))
