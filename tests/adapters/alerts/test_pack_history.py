"""What alerts told goes into a pack and stays in it."""

from __future__ import annotations

import io
import json
import zipfile
from typing import TYPE_CHECKING

import pytest
from written import KEY, START, at, event

from forecaster.domain.alerts.records import Change, Message, Rank
from forecaster.errors import DataError
from forecaster.service.pack import pack
from forecaster.service.pack_tables import HISTORY, csv_rows
from forecaster.service.unpack import unpack

if TYPE_CHECKING:
    from pathlib import Path

    from written import Writer


def table(content: bytes, name: str) -> list[tuple[str, ...]]:
    """Rows of a table of the history."""
    with zipfile.ZipFile(io.BytesIO(content)) as made:
        held = made.read(f"history/{name}.csv")
    return csv_rows(name, held, HISTORY[name])


@pytest.fixture
def told(own: Writer) -> Writer:
    """Two checks, an event and a message."""
    own.check(0, {KEY: "nothing new"})
    change = next(iter(Change))
    own.check(1, {}, event(1, change, Rank.PUSH, run=2))
    own.message(Message("m1", Rank.PUSH, ("e1",), START))
    return own


def test_history_goes_along_and_comes_back(told: Writer, tmp_path: Path) -> None:
    """Runs, events and messages as the state has them; the state itself stays."""
    first = pack(told.folder)
    runs = table(first.content, "runs")
    assert [row[:2] for row in runs] == [("1", str(at(0))), ("2", str(at(1)))]
    assert json.loads(runs[0][2])["id"] == 1
    assert [row[0] for row in table(first.content, "messages")] == ["m1"]
    assert len(table(first.content, "events")) == 1
    assert not [name for name in first.names if "sqlite" in name]
    path = tmp_path / "farm.zip"
    path.write_bytes(first.content)
    again = tmp_path / "again"
    unpack(path, again)
    assert not (again / ".alerts").exists()
    assert pack(again).content == first.content


def test_history_of_before_and_after_a_move_is_one(
    told: Writer, tmp_path: Path
) -> None:
    """Checks go on at the new place; every row of both is there once, in order."""
    path = tmp_path / "farm.zip"
    path.write_bytes(pack(told.folder).content)
    again = type(told)(tmp_path / "again")
    unpack(path, again.folder)
    again.check(5, {})
    runs = table(pack(again.folder).content, "runs")
    assert [row[1] for row in runs] == [str(at(hour)) for hour in (0, 1, 5)]


def test_a_table_that_was_changed_by_hand_is_placed(told: Writer) -> None:
    """Nothing is packed rather than something wrong."""
    folder = told.folder / "history"
    folder.mkdir()
    (folder / "runs.csv").write_bytes(b'"id","when"\r\n')
    with pytest.raises(DataError, match=r"runs\.csv:1: the columns must be"):
        pack(told.folder)
