"""The worked example of the guide is run as it stands on the page."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from forecaster.settings.document import read_document, validate
from forecaster.sources.csv_file import read_csv
from forecaster.sources.csv_mapping import Columns, Mapping, Table, Time
from forecaster.sources.hours_table import HEADER

DOCS = Path(__file__).parents[3] / "docs"
GUIDE = DOCS / "how-to" / "use-your-own-weather.md"
REFERENCE = DOCS / "reference" / "weather-files.md"


def blocks(page: Path) -> dict[str, str]:
    """The fenced blocks of a page by their language."""
    text = page.read_text(encoding="utf-8")
    return dict(re.findall(r"```(\w+)\n(.*?)```", text, flags=re.DOTALL))


def test_the_worked_example_works(tmp_path: Path) -> None:
    """Table and mapping of the guide give the report of the guide."""
    parts = blocks(GUIDE)
    (tmp_path / "paddock-station.csv").write_text(parts["csv"], encoding="utf-8")
    mapping = tmp_path / "paddock-station.toml"
    mapping.write_text(parts["toml"], encoding="utf-8")
    imported = read_csv(mapping)
    assert imported.report.text() == parts["text"]
    frame = imported.frame
    # Worked by hand: 07:00 at +10:00 is 21:00 UTC; two tips of 0.2 mm end at 22:00.
    assert str(frame.time[1]) == "2026-10-11T21:00:00"
    np.testing.assert_allclose(frame.rain[:3], [0, 0.4, 0])
    assert frame.wind_from[1] == 225.0


def test_every_key_is_on_the_reference_page() -> None:
    """No column, mapping key or default is left out of the reference."""
    text = REFERENCE.read_text(encoding="utf-8")
    names = {*HEADER, *Table.model_fields, *Time.model_fields, *Columns.model_fields}
    names |= set(Mapping.model_fields)
    absent = [name for name in sorted(names) if not re.search(rf"`\[?{name}\]?`", text)]
    assert absent == []


def test_ready_mappings_are_valid() -> None:
    """Each mapping file that ships is a mapping file."""
    ready = sorted((DOCS.parent / "fixtures" / "mappings").glob("*.toml"))
    assert len(ready) == 2
    for path in ready:
        assert validate(read_document(path), Mapping).table.label in {"start", "end"}
