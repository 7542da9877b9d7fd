"""Earlier springs by list, by year and by record, counted by hand."""

from __future__ import annotations

import pytest

from forecaster.domain.choice.springs import Springs, listed

ACTIVES = ("glyphosate", "paraquat")


def test_springs_running_stop_at_another_tactic() -> None:
    """Newest first: two of glyphosate, then hay."""
    last = listed(("glyphosate", "glyphosate", "hay", "glyphosate"), 2026)
    typed = Springs(listed=last)
    assert last[0] == (2025, "glyphosate")
    assert typed.running("glyphosate", 2026) == 2
    assert typed.running("paraquat", 2026) == 0
    assert Springs(listed=listed(("hay",), 2026)).running("hay", 2026) == 1
    assert Springs().running("glyphosate", 2026) is None
    assert listed(None, 2026) == listed((), 2026) == ()


@pytest.mark.parametrize(
    ("past", "recorded", "run"),
    [
        ({2024, 2025}, set[int](), 2),
        ({2024}, {2025}, 2),
        ({2025}, {2025}, 1),
        ({2023}, {2025}, 1),
        ({2023, 2024}, set[int](), 0),
        (set[int](), {2026}, None),
        ({2026, 2027}, set[int](), None),
        ({2023, 2024}, {2025, 2026}, 3),
    ],
)
def test_years_typed_and_recorded_are_one(
    past: set[int], recorded: set[int], run: int | None
) -> None:
    """Twice is once; a year between without a spray breaks; this spring is not past."""
    springs = Springs(
        frozenset((year, "glyphosate") for year in past),
        recorded=frozenset((year, "glyphosate") for year in recorded),
    )
    assert springs.running("glyphosate", 2026) == run
    assert {year for year, _ in springs.used(ACTIVES)} == past | recorded


def test_where_list_and_record_differ_both_count() -> None:
    """Hay is typed for 2025 and paraquat recorded: a run too long only asks a test."""
    recorded = frozenset({(2025, "paraquat"), (2024, "paraquat"), (2023, "paraquat")})
    hay = Springs(listed=listed(("hay",), 2026), recorded=recorded)
    assert hay.running("paraquat", 2026) == 3
    assert hay.gainsaid(ACTIVES) == ((2025, "hay", ("paraquat",)),)
    same = Springs(listed=listed(("paraquat",), 2026), recorded=recorded)
    assert same.running("paraquat", 2026) == 3
    assert same.gainsaid(ACTIVES) == ()
    assert hay.used(ACTIVES) == recorded


def test_an_earlier_day_does_not_know_of_later_springs() -> None:
    """Read in 2026, looked at as of 2025: the list's first spring has not been."""
    springs = Springs(listed=listed(("glyphosate", "glyphosate"), 2026))
    assert springs.running("glyphosate", 2025) == 1
    assert springs.running("glyphosate", 2024) is None


@pytest.mark.parametrize(
    ("past", "last", "found"),
    [
        ({(2025, "glyphosate")}, ("glyphosate",), [None]),
        ({(2025, "glyphosate"), (2025, "paraquat")}, ("paraquat",), [None]),
        ({(2025, "glyphosate")}, ("hay",), [2025]),
        ({(2025, "glyphosate")}, ("paraquat",), [2025]),
        ({(2024, "glyphosate")}, ("paraquat", "glyphosate", "hay"), [None] * 3),
        (
            {(2023, "glyphosate"), (2025, "glyphosate")},
            ("glyphosate", "paraquat", "glyphosate"),
            [None, 2024, None],
        ),
        ({(2023, "paraquat"), (2025, "paraquat")}, ("paraquat", "hay"), [None, None]),
        (set[tuple[int, str]](), ("paraquat", "hay"), [None, None]),
    ],
)
def test_where_list_and_years_cannot_both_be(
    past: set[tuple[int, str]], last: tuple[str, ...], found: list[int | None]
) -> None:
    """A year without a spray is known only between years that are typed."""
    springs = Springs(frozenset(past), listed(last, 2026))
    gainsaid = [each.year for each in springs.gainsaid(ACTIVES)]
    assert gainsaid == [year for year in found if year is not None]
